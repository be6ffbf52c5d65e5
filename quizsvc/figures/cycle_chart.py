"""The whole cycle of every cylinder as bars over 720 crank degrees, with a line at one angle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Dash,
    Ink,
    Label,
    Lines,
    Scene,
    Shape,
    Style,
    Weight,
)
from quizsvc.timing.valves import ValveEvents

LEFT, RIGHT, TOP = 58.0, 450.0, 56.0
BAR = 30.0
STROKES = ("power", "exhaust", "intake", "compression")
_SHORT = ("P", "E", "I", "C")


@dataclass(frozen=True, slots=True)
class CycleRow:
    """A cylinder and where on the engine's cycle it fires, in crank degrees."""

    cylinder: int
    firing_deg: float


@dataclass(frozen=True, slots=True)
class CycleChart:
    """``asked`` is the cylinder whose bar stays empty until the solution (0 for none).

    Valve openings are drawn under the bars where ``events`` are given: from the start with
    ``valves_shown``, else with the solution. ``at_deg`` draws the line; negative for none.
    """

    rows: tuple[CycleRow, ...]
    at_deg: float = -1.0
    asked: int = 0
    events: ValveEvents | None = None
    valves_shown: bool = False
    note: str = ""


def describe(state: CycleChart) -> str:
    rows = " ".join(
        f"Cylinder {row.cylinder}: asked for."
        if row.cylinder == state.asked
        else f"Cylinder {row.cylinder}: fires at {parts.plain(row.firing_deg % 720)}°."
        for row in state.rows
    )
    line = f" A line stands at {parts.plain(state.at_deg)}°." if state.at_deg >= 0 else ""
    valves = ""
    if state.valves_shown and state.events is not None:
        valves = (
            " Under each bar a solid line shows where the intake valve is open and a dashed line "
            "where the exhaust valve is."
        )
    note = f" {state.note}" if state.note else ""
    return (
        "Bars over 720 crank degrees, one for each cylinder, cut into power, exhaust, intake and "
        f"compression, 180° each from its firing TDC on. {rows}{line}{valves}{note}"
    )


def draw(state: CycleChart, *, solution: bool = False) -> Scene:
    if not state.rows or len({row.cylinder for row in state.rows}) != len(state.rows):
        raise InputError(
            "each cylinder has one bar.",
            field="rows",
            value=tuple(row.cylinder for row in state.rows),
            remedy="Name every cylinder once.",
        )
    with_valves = state.events is not None and (state.valves_shown or solution)
    pitch = BAR + (26 if state.events is not None else 12)
    bottom = TOP + pitch * len(state.rows)
    shapes: list[Shape] = [*_scale(bottom)]
    for place, row in enumerate(state.rows):
        top = TOP + pitch * place
        shapes += _bar(state, row, top, solution=solution)
        if with_valves and state.events is not None and (row.cylinder != state.asked or solution):
            shapes += _valves(state.events, row, top + BAR + 7)
    shapes += _line(state, bottom)
    words, height = parts.caption(_caption(state, with_valves=with_valves), bottom + 40)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _caption(state: CycleChart, *, with_valves: bool) -> str:
    text = state.note or "P power, E exhaust, I intake, C compression; crank degrees."
    valves = " Under the bars: intake open (solid), exhaust open (dashed)."
    return text + (valves if with_valves else "")


def _x(deg: float) -> float:
    return LEFT + (RIGHT - LEFT) * deg / 720


def _scale(bottom: float) -> list[Shape]:
    ticks = tuple(((_x(deg), TOP - 8), (_x(deg), bottom + 4)) for deg in range(0, 721, 90))
    return [
        Lines(ticks, Style(Ink.SHADE, weight=Weight.THIN), name="grid"),
        *(Label((_x(deg), bottom + 22), f"{deg}°") for deg in range(0, 721, 180)),
    ]


def stretches(start_deg: float, length_deg: float) -> Iterator[tuple[float, float]]:
    """Cut a stretch of the cycle where it runs over 720.

    >>> list(stretches(630, 180))
    [(630, 720), (0.0, 90)]
    """
    start = start_deg % 720
    end = start + length_deg
    yield start, min(end, 720)
    if end > 720:
        yield 0.0, end - 720


def _bar(state: CycleChart, row: CycleRow, top: float, *, solution: bool) -> list[Shape]:
    hidden = row.cylinder == state.asked and not solution
    ink = Ink.ACCENT if row.cylinder == state.asked else Ink.LINE
    if solution and row.cylinder == state.asked:
        ink = Ink.SOLUTION
    shapes: list[Shape] = [
        Label((parts.MARGIN + 12, top + 21), str(row.cylinder), 18, ink=ink, bold=True),
    ]
    if hidden:
        frame = parts.rectangle(_x(0), top, _x(720), top + BAR, Style(Ink.ACCENT), "asked")
        return [*shapes, frame, Label((_x(360), top + 21), "?", 18, ink=Ink.ACCENT, bold=True)]
    for number, short in enumerate(_SHORT):
        fill = Ink.SHADE if number == 0 else Ink.METAL
        for start, end in stretches(row.firing_deg + 180 * number, 180):
            if end - start < 1e-6:
                continue
            shapes.append(
                parts.rectangle(
                    _x(start),
                    top,
                    _x(end),
                    top + BAR,
                    Style(ink, fill, Weight.THIN),
                    f"{STROKES[number]} {row.cylinder}",
                )
            )
            if end - start >= 30:
                middle = _x((start + end) / 2)
                shapes.append(Label((middle, top + 21), short, ink=ink, bold=number == 0))
    return shapes


def _valves(events: ValveEvents, row: CycleRow, y: float) -> list[Shape]:
    shapes: list[Shape] = []
    for name, start, length, ink, dash, down in (
        ("intake", events.intake_open_deg, events.intake_duration_deg, Ink.COOL, Dash.SOLID, 0),
        ("exhaust", events.exhaust_open_deg, events.exhaust_duration_deg, Ink.WARM, Dash.DASHED, 7),
    ):
        strokes = tuple(
            ((_x(first), y + down), (_x(last), y + down))
            for first, last in stretches(row.firing_deg + start, length)
        )
        style = Style(ink, weight=Weight.THICK, dash=dash)
        shapes.append(Lines(strokes, style, name=f"{name} open {row.cylinder}"))
    return shapes


def _line(state: CycleChart, bottom: float) -> list[Shape]:
    if state.at_deg < 0:
        return []
    x = _x(state.at_deg % 720)
    text = f"{parts.plain(state.at_deg % 720)}°"
    anchor = Anchor.MIDDLE if 90 < x < 400 else Anchor.START if x <= 90 else Anchor.END
    return [
        Lines((((x, TOP - 14), (x, bottom + 4)),), Style(Ink.ACCENT), name="line"),
        Label((x, TOP - 20), text, anchor=anchor, ink=Ink.ACCENT, bold=True, name="line value"),
    ]
