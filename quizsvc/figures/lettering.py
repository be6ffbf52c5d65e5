"""How wide words stand in the typeface that is shipped with the figures."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from PIL import ImageFont

from quizsvc.figures.scene import Anchor, Label

FONTS = Path(__file__).parent / "fonts"
FAMILY = "DejaVu Sans, Verdana, sans-serif"
ASCENT, DESCENT = 0.76, 0.24  # of the size: tops of letters and tails below the baseline
_EM = 1000


@cache
def font(pixels: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Return the shipped typeface at a height in pixels."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return ImageFont.truetype(FONTS / name, pixels, layout_engine=ImageFont.Layout.BASIC)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text in picture units (kerning, below 2 %, is left out)."""
    return sum(_advance(letter, bold) for letter in text) * size / _EM


def box(label: Label) -> tuple[float, float, float, float]:
    """Return the left, top, right and bottom of a label in picture units."""
    width = text_width(label.text, label.size, bold=label.bold)
    x, y = label.at
    left = x - {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[label.anchor]
    return left, y - ASCENT * label.size, left + width, y + DESCENT * label.size


@cache
def _advance(letter: str, bold: bool) -> float:  # noqa: FBT001 - a cache key
    return font(_EM, bold=bold).getlength(letter)
