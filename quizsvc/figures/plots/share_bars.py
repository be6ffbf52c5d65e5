"""Shares answered right with their intervals, one row each: by number asked, by revision."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Circle, Ink, Label, Lines, Scene, Shape, Style, Weight

_ROW, _TOP = 50.0, 30.0
_LEFT, _RIGHT = 30.0, 400.0
_END = 7.0  # half height of an interval's end


@dataclass(frozen=True, slots=True)
class Share:
    label: str
    share: float
    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True)
class ShareBars:
    rows: tuple[Share, ...]


def describe(state: ShareBars) -> str:
    said = "; ".join(
        f"{one.label}: {one.share:.0%} of {one.count}, likely {one.low:.0%} to {one.high:.0%}"
        for one in state.rows
    )
    return f"Share answered right. {said}."


def draw(state: ShareBars) -> Scene:
    height = _TOP + _ROW * len(state.rows) + 44
    bottom = _TOP + _ROW * len(state.rows)
    grid = tuple(((_x(n / 4), _TOP - 16), (_x(n / 4), bottom)) for n in range(5))
    shapes: list[Shape] = [Lines(grid, Style(Ink.SHADE, weight=Weight.THIN))]
    shapes += [Label((_x(n / 2), bottom + 22), f"{50 * n} %") for n in range(3)]
    for place, one in enumerate(state.rows):
        shapes += _row(one, _TOP + _ROW * place)
    return Scene(parts.WIDTH, height, tuple(shapes), describe(state))


def _row(one: Share, top: float) -> list[Shape]:
    low, high, y = _x(one.low), _x(one.high), top + 22
    ends = (((low, y), (high, y)), *(((x, y - _END), (x, y + _END)) for x in (low, high)))
    return [
        Label((_LEFT, top + 6), one.label, anchor=Anchor.START, halo=True),
        Lines(ends, Style(Ink.LINE, weight=Weight.MEDIUM)),
        Circle((_x(one.share), y), 5.0, Style(Ink.ACCENT, Ink.ACCENT)),
        Label((_RIGHT + 14, y + 6), f"of {one.count}", anchor=Anchor.START, ink=Ink.FAINT),
    ]


def _x(share: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * share
