"""Valve and piston about the overlap TDC: how near each valve comes to the crown below it.

Heights are measured along the bore, downwards from where the closed valve's lowest edge stands.
The valve's curve falls by its lift, the piston's by its drop and the room under the valve; what
is left between them is the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from quizsvc.errors import InputError
from quizsvc.figures import chart, parts
from quizsvc.figures.scene import (
    Anchor,
    Circle,
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
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve

FIRST, LAST, STEP = 270, 450, 3
QUESTIONS = ("", "intake gap", "exhaust gap", "intake least", "exhaust least")
AXES_BOX = (52.0, 66.0, 452.0, 336.0)


@dataclass(frozen=True, slots=True)
class LiftOf:
    """One valve: opening and closing on its own cycle (0 at firing TDC), lift, room, lean.

    ``room_mm``: from the closed valve's lowest edge to the crown or pocket floor at TDC.
    """

    open_deg: float
    close_deg: float
    lift_mm: float
    room_mm: float
    tilt_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class LiftCurves:
    """Both valves and the piston about the TDC between exhaust and intake.

    ``asked``: a gap at ``at_deg`` (degrees after that TDC, negative before), or the least gap of
    a valve, or nothing.
    """

    intake: LiftOf
    exhaust: LiftOf
    stroke_mm: float
    rod_mm: float
    at_deg: float = 0.0
    asked: str = ""
    pin_offset_mm: float = 0.0
    note: str = ""


def describe(state: LiftCurves) -> str:
    asked = {
        "": "",
        "intake gap": f" Asked: the gap at the intake valve {_place(state.at_deg)}.",
        "exhaust gap": f" Asked: the gap at the exhaust valve {_place(state.at_deg)}.",
        "intake least": " Asked: the least gap at the intake valve.",
        "exhaust least": " Asked: the least gap at the exhaust valve.",
    }[state.asked]
    meets = "".join(
        f" The {name} valve's curve crosses the piston's."
        for name in ("intake", "exhaust")
        if _room(state, name).least_gap(_slider(state)).gap_mm <= 0
    )
    note = f" {state.note}" if state.note else ""
    return (
        "Curves from 90° before to 90° after the TDC at which the exhaust valve closes and the "
        "intake valve opens. The piston's curve rises to TDC and falls again; the exhaust valve "
        "goes back up into its seat after the piston has come close, the intake valve comes down "
        f"behind the falling piston.{meets}{asked}{note}"
    )


def draw(state: LiftCurves, *, solution: bool = False) -> Scene:
    if state.asked not in QUESTIONS:
        raise InputError(
            "there is no such question.",
            field="asked",
            value=state.asked,
            remedy=f"Give one of {', '.join(map(repr, QUESTIONS))}.",
        )
    axes = _axes(state)
    shapes: list[Shape] = [
        *_frame(state, axes),
        *_curves(state, axes),
        *_gap(state, axes, solution=solution),
    ]
    words, height = parts.caption(
        state.note or "Depth along the bore below each closed valve. Between curves: the gap.", 400
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _place(deg: float) -> str:
    if not deg:
        return "at TDC"
    return f"{parts.plain(abs(deg))}° {'after' if deg > 0 else 'before'} TDC"


def _slider(state: LiftCurves) -> SliderCrank:
    return SliderCrank(state.stroke_mm, state.rod_mm, state.pin_offset_mm)


def _room(state: LiftCurves, name: str) -> ValveRoom:
    valve = state.intake if name == "intake" else state.exhaust
    curve = LiftCurve(valve.open_deg, valve.close_deg, valve.lift_mm)
    kind = "intake" if name == "intake" else "exhaust"
    return ValveRoom(kind, curve, valve.room_mm, valve.tilt_deg)  # type: ignore[arg-type]


def _axes(state: LiftCurves) -> chart.Axes:
    deepest = max(state.intake.lift_mm, state.exhaust.lift_mm) * 1.25
    left, top, right, bottom = AXES_BOX
    return chart.Axes(left, top, right, bottom, FIRST, LAST, deepest, -0.6)


def _frame(state: LiftCurves, axes: chart.Axes) -> list[Shape]:
    angles = [
        (360.0 + deg, f"{parts.plain(deg)}°" if deg else "TDC") for deg in (-90, -45, 0, 45, 90)
    ]
    depths = [(float(mm), str(mm)) for mm in range(0, int(axes.low) + 1, 2)]
    if state.asked:  # the numbers of the depth axis would give the gap away
        depths = [(mm, "") for mm, _ in depths]
    return chart.frame(
        axes, angles, depths, "crank angle", "depth in mm" if not state.asked else "depth"
    )


def _curves(state: LiftCurves, axes: chart.Axes) -> list[Shape]:
    slider = _slider(state)
    shapes: list[Shape] = []
    for name, ink, dash in (
        ("exhaust", Ink.WARM, Dash.DASHED),
        ("intake", Ink.COOL, Dash.SOLID),
    ):
        room = _room(state, name)
        drops = [(deg, slider.drop_mm(deg)) for deg in range(FIRST, LAST + 1, STEP)]
        crown = [(deg, drop + room.room_mm) for deg, drop in drops]
        valve = [
            (deg, depth - room.gap_from_mm(drop, room.curve.lift_mm(deg)))
            for (deg, drop), (_, depth) in zip(drops, crown, strict=True)
        ]
        shapes += _line(axes, valve, Style(ink, weight=Weight.THICK, dash=dash), f"{name} valve")
        style = Style(Ink.LINE, dash=dash)
        if name == "intake" or abs(state.intake.room_mm - state.exhaust.room_mm) > 0.05:
            shapes += _line(axes, crown, style, f"piston under {name}")
    return [*shapes, *_words(axes)]


def _line(
    axes: chart.Axes, points: list[tuple[int, float]], style: Style, name: str
) -> list[Shape]:
    """Draw the part of a curve that lies on the paper, right up to the lower edge."""
    inside: list[Point] = []
    for (deg0, depth0), (deg1, depth1) in pairwise(points):
        if (depth0 > axes.low) != (depth1 > axes.low):
            edge = deg0 + (deg1 - deg0) * (axes.low - depth0) / (depth1 - depth0)
            inside.append(axes.at(edge, axes.low))
        if depth1 <= axes.low:
            inside.append(axes.at(deg1, depth1))
    start = [axes.at(*points[0])] if points[0][1] <= axes.low else []
    return [Polyline((*start, *inside), style, name=name)]


def _words(axes: chart.Axes) -> list[Shape]:
    y = axes.top - 8
    return [
        Label((axes.left + 4, y), "exhaust (dashed)", anchor=Anchor.START, ink=Ink.WARM, bold=True),
        Label((axes.right, y), "intake", anchor=Anchor.END, ink=Ink.COOL, bold=True),
        Label((axes.x(312), axes.bottom - 10), "piston", bold=True, halo=True),
    ]


def _gap(state: LiftCurves, axes: chart.Axes, *, solution: bool) -> list[Shape]:
    if not state.asked:
        return []
    name, _, what = state.asked.partition(" ")
    room, slider = _room(state, name), _slider(state)
    deg = 360 + state.at_deg
    corner = (axes.right - 4, axes.bottom - 28)
    if what == "least" and not solution:
        return [_word(corner, f"least {name} gap ?", Ink.ACCENT)]
    if what == "least":
        deg = room.least_gap(slider).own_deg
    gap = room.gap_mm(slider, deg)
    crown = slider.drop_mm(deg) + room.room_mm
    text, ink = parts.shown(f"{parts.plain(gap, 2)} mm", asked=True, solution=solution)
    x, low, high = axes.x(deg), axes.y(crown), axes.y(crown - gap)
    dashed = Style(ink, weight=Weight.THIN, dash=Dash.DASHED)
    return [
        Lines((((x, axes.top), (x, axes.bottom)),), dashed),
        Lines((((x, low), (x, high)),), Style(ink, weight=Weight.THICK), name="gap"),
        Circle((x, high), 3.5, Style(ink, ink)),
        Circle((x, low), 3.5, Style(ink, ink)),
        _word(corner, f"gap {text}", ink),
        _word((corner[0], corner[1] + 20), _place(deg - 360), ink),
    ]


def _word(at: Point, text: str, ink: Ink) -> Label:
    return Label(at, text, anchor=Anchor.END, ink=ink, bold=True, halo=True, name="gap word")
