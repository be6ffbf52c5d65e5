"""How a team stands week by week: mean chance of right answers, share above the gate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Circles,
    Dash,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

_LEFT, _RIGHT, _TOP, _BOTTOM = 66.0, 330.0, 24.0, 224.0
_HEIGHT = 290.0
_CHANCE = Style(Ink.ACCENT, weight=Weight.MEDIUM)
_ABOVE = Style(Ink.LINE, weight=Weight.MEDIUM, dash=Dash.DASHED)
_APART = 20.0  # units between the words of the two lines


@dataclass(frozen=True, slots=True)
class TrendWeek:
    """A week's end; shares from 0 to 1."""

    end: date
    chance: float
    above: float


@dataclass(frozen=True, slots=True)
class TeamTrend:
    weeks: tuple[TrendWeek, ...]  # at least two, in order


def describe(state: TeamTrend) -> str:
    first, last = state.weeks[0], state.weeks[-1]
    return (
        f"Two lines over {len(state.weeks)} weeks, {first.end:%d %B %Y} to {last.end:%d %B %Y}. "
        f"Mean chance of a right answer: {first.chance:.0%}, then {last.chance:.0%}. "
        f"Share of people and topics above the gate: {first.above:.0%}, then {last.above:.0%}."
    )


def draw(state: TeamTrend) -> Scene:
    chance = tuple((_x(state, n), _y(one.chance)) for n, one in enumerate(state.weeks))
    above = tuple((_x(state, n), _y(one.above)) for n, one in enumerate(state.weeks))
    shapes = (
        *_grid(state),
        Polyline(above, _ABOVE, name="above"),
        Polyline(chance, _CHANCE, name="chance"),
        Circles(chance, 3.5, Style(Ink.ACCENT, Ink.ACCENT, Weight.THIN)),
        Circles(above, 3.5, Style(Ink.LINE, Ink.PAPER, Weight.THIN)),
        *_words(chance[-1], above[-1]),
    )
    return Scene(parts.WIDTH, _HEIGHT, shapes, describe(state))


def _grid(state: TeamTrend) -> list[Shape]:
    levels = tuple(((_LEFT, _y(n / 4)), (_RIGHT, _y(n / 4))) for n in range(5))
    shapes: list[Shape] = [Lines(levels, Style(Ink.SHADE, weight=Weight.THIN))]
    shapes += [
        Label((_LEFT - 8, _y(n / 2) + 5), f"{50 * n} %", anchor=Anchor.END) for n in range(3)
    ]
    ends = ((0, Anchor.START), (len(state.weeks) - 1, Anchor.END))
    shapes += [
        Label((_x(state, n), _BOTTOM + 26), f"{state.weeks[n].end:%d %b %Y}", anchor=anchor)
        for n, anchor in ends
    ]
    return shapes


def _words(chance: Point, above: Point) -> list[Shape]:
    """Name each line at its end; moved apart where the lines end close together."""
    middle, gap = (chance[1] + above[1]) / 2, abs(chance[1] - above[1])
    spread = max(gap, _APART) / 2
    sign = -1 if chance[1] <= above[1] else 1
    return [
        Label((_RIGHT + 12, middle + sign * spread + 5), "mean chance", 15.0, Anchor.START),
        Label((_RIGHT + 12, middle - sign * spread + 5), "above the gate", 15.0, Anchor.START),
    ]


def _x(state: TeamTrend, n: int) -> float:
    return round(_LEFT + (_RIGHT - _LEFT) * n / max(1, len(state.weeks) - 1), 1)


def _y(share: float) -> float:
    return round(_BOTTOM - (_BOTTOM - _TOP) * share, 1)
