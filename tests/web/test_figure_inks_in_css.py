"""The style sheet re-colours figures as the palettes state."""

from pathlib import Path

import quizsvc.web
from quizsvc.figures.palette import DARK, LIGHT, PRINT, stylesheet
from quizsvc.figures.scene import Ink

CSS = Path(quizsvc.web.__file__).parent / "static" / "css"


def squeezed(text):
    return "".join(text.split())


def test_figures_in_the_dark_and_on_paper_wear_the_inks_of_their_palettes():
    sheet = squeezed((CSS / "inks.css").read_text(encoding="utf-8"))

    dark, paper = sheet.split("@mediaprint{")
    assert squeezed(stylesheet(DARK)) in dark
    assert squeezed(stylesheet(PRINT)) in paper


def test_figures_lie_on_the_pages_own_paper():
    tokens = (CSS / "tokens.css").read_text(encoding="utf-8")

    by_day, in_the_dark = tokens.split("@media (prefers-color-scheme: dark)")
    for palette, part in ((LIGHT, by_day), (DARK, in_the_dark)):
        assert f"--paper: {palette[Ink.PAPER]};" in part
        assert f"--ink: {palette[Ink.LINE]};" in part
