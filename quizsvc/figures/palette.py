"""Which colour each ink has on screen, in the dark and in print.

Text inks keep at least 4.5:1 against every ground they are written on, line inks at least 3:1
(WCAG 2.2, success criteria 1.4.3 and 1.4.11; held by tests). No meaning hangs on a colour alone:
figures put a word, a dash or a shape beside it.
"""

from __future__ import annotations

from collections.abc import Mapping

from quizsvc.figures.scene import Ink

Palette = Mapping[Ink, str]

LIGHT: Palette = {
    Ink.LINE: "#1d2a35",
    Ink.FAINT: "#5a6670",
    Ink.ACCENT: "#a3360a",
    Ink.MARK: "#a3360a",
    Ink.SOLUTION: "#12603a",
    Ink.PAPER: "#fbfaf6",
    Ink.METAL: "#eeede6",
    Ink.SHADE: "#d6d8d5",
    Ink.WARM: "#a3360a",
    Ink.COOL: "#1b5687",
}

DARK: Palette = {
    Ink.LINE: "#e6e9ea",
    Ink.FAINT: "#a3afb8",
    Ink.ACCENT: "#ff9d6b",
    Ink.MARK: "#ff9d6b",
    Ink.SOLUTION: "#7fd6a4",
    Ink.PAPER: "#161d23",
    Ink.METAL: "#222c34",
    Ink.SHADE: "#36424c",
    Ink.WARM: "#ff9d6b",
    Ink.COOL: "#86c1ee",
}

# Darker and on white: survives a grey printer and a copy of a copy.
PRINT: Palette = {
    Ink.LINE: "#000000",
    Ink.FAINT: "#4a4a4a",
    Ink.ACCENT: "#7d2600",
    Ink.MARK: "#7d2600",
    Ink.SOLUTION: "#0a4526",
    Ink.PAPER: "#ffffff",
    Ink.METAL: "#f3f3f3",
    Ink.SHADE: "#d9d9d9",
    Ink.WARM: "#7d2600",
    Ink.COOL: "#0d3c63",
}

TEXT_INKS = (Ink.LINE, Ink.FAINT, Ink.ACCENT, Ink.MARK, Ink.SOLUTION, Ink.WARM, Ink.COOL)
GROUNDS = (Ink.PAPER, Ink.METAL)  # what words are written on


def channels(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue of ``#rrggbb``, each 0 to 255.

    >>> channels("#0a10ff")
    (10, 16, 255)
    """
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21.

    Source: WCAG 2.2, definitions of contrast ratio and relative luminance.

    >>> round(contrast("#000000", "#ffffff"), 1)
    21.0
    """
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def stylesheet(palette: Palette, within: str = "svg.figure") -> str:
    """Return the rules that re-colour an inline SVG figure by the classes of its shapes."""
    return "".join(
        f"{within} .s-{ink}{{stroke:{colour}}}{within} .f-{ink}{{fill:{colour}}}"
        for ink, colour in palette.items()
    )


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(channel / 255) for channel in channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
