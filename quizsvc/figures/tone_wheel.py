"""A toothed signal wheel at its sensor and the signal trace that it makes, with a cam trace."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.lettering import text_width
from quizsvc.figures.scene import (
    Anchor,
    Arrow,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

CENTRE: Point = (parts.WIDTH / 2, 176.0)
TIP, ROOT = 118.0, 106.0
LEFT, RIGHT = 24.0, 456.0
_HIGH, _LOW = 356.0, 390.0
_CAM_HIGH, _CAM_LOW = 436.0, 470.0


@dataclass(frozen=True, slots=True)
class ToneWheelView:
    """A wheel of ``places`` less ``missing`` teeth, turning clockwise past a sensor at the top.

    ``turned_deg``: degrees of the wheel since the leading edge of tooth 1 (the first after the
    gap) met the sensor. The trace shows one turn from that edge on. ``asked``: "tooth" (which
    tooth stands at the sensor), "teeth" (how many there are), "step" (degrees from tooth to
    tooth), "gap" (degrees across the gap), "cam" (how late the cam's edge is) or nothing.
    ``cam_edge_deg`` and ``cam_should_deg`` are places on the trace of a cam edge, as
    measured and as specified; negative leaves the cam trace out. ``answer`` is what the solution
    writes at the question mark.
    """

    places: int
    missing: int
    turned_deg: float = 0.0
    asked: str = ""
    answer: str = ""
    cam_edge_deg: float = -1.0
    cam_should_deg: float = -1.0
    note: str = ""


def describe(state: ToneWheelView) -> str:
    gap = f", a gap where {state.missing} would follow" if state.missing else ", without a gap"
    count = "Teeth" if state.asked == "teeth" else f"{state.places - state.missing} teeth"
    apart = "evenly spaced"
    if state.asked not in {"step", "gap"}:
        apart = f"spaced {parts.plain(360 / state.places, 2)}° apart"
    evenly = f"{count} {apart}{gap}"
    asked = {
        "tooth": " Asked: which tooth stands at the sensor; teeth count from the gap on.",
        "teeth": " Asked: how many teeth there are.",
        "step": " Asked: how many degrees there are from tooth to tooth.",
        "gap": " Asked: how many degrees there are from tooth to tooth across the gap.",
        "cam": " Asked: by how many degrees the cam's edge is off.",
    }.get(state.asked, "")
    turned = f" The wheel has turned {parts.plain(state.turned_deg, 2)}° since the first tooth."
    cam = ""
    if state.cam_edge_deg >= 0:
        cam = (
            f" Below, the cam's signal rises at {parts.plain(state.cam_edge_deg)}°, a dashed line "
            f"shows where it should, {parts.plain(state.cam_should_deg)}°."
        )
    note = f" {state.note}" if state.note else ""
    return (
        f"Signal wheel turning clockwise past a sensor at the top. {evenly}.{turned} Its trace "
        f"over one turn is high while a tooth passes.{cam}{asked}{note}"
    )


def draw(state: ToneWheelView, *, solution: bool = False) -> Scene:
    if not 0 <= state.missing < state.places or state.places > 120:
        raise InputError(
            "teeth and gap do not make a wheel.",
            field="missing",
            value=state.missing,
            remedy=f"Leave 0 to {state.places - 1} of at most 120 places without a tooth.",
        )
    shapes: list[Shape] = [*_wheel(state), *_sensor(state, solution=solution), *_trace(state)]
    shapes += _angle(state, solution=solution)
    bottom = 420.0
    if state.cam_edge_deg >= 0:
        shapes += _cam(state, solution=solution)
        bottom = 516.0
    if solution:
        shapes += _numbers(state)
    words, height = parts.caption(
        state.note or "The wheel turns clockwise. Trace: one turn from the first tooth.", bottom
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _step(state: ToneWheelView) -> float:
    return 360 / state.places


def tooth_edges_deg(state: ToneWheelView) -> list[float]:
    """Return the clock angle of each tooth's leading edge; later teeth follow behind."""
    return [
        state.turned_deg - tooth * _step(state) for tooth in range(state.places - state.missing)
    ]


def _wheel(state: ToneWheelView) -> list[Shape]:
    half = _step(state) / 2
    points: list[Point] = []
    for edge in reversed(tooth_edges_deg(state)):
        points += [
            at_clock(CENTRE, ROOT, edge - half),
            at_clock(CENTRE, TIP, edge - half),
            at_clock(CENTRE, TIP, edge),
            at_clock(CENTRE, ROOT, edge),
        ]
        # Between teeth the root follows the circle; a chord would cut a wide gap short.
        spans = max(1, round(half / 4))
        points += [at_clock(CENTRE, ROOT, edge + half * n / spans) for n in range(1, spans)]
    first = tooth_edges_deg(state)[0]
    gap = _step(state) * (state.missing + 0.5)
    steps = max(1, round(gap / 4))
    points += [at_clock(CENTRE, ROOT, first + gap * n / steps) for n in range(1, steps)]
    return [
        Polyline(tuple(points), parts.FINE_EDGE, closed=True, name="wheel"),
        *parts.hub(CENTRE, 22),
        *parts.turning_arrow(CENTRE, 42, 120, 120),
    ]


def _sensor(state: ToneWheelView, *, solution: bool) -> list[Shape]:
    x, y = CENTRE[0], CENTRE[1] - TIP - 5
    shapes: list[Shape] = [
        parts.rectangle(x - 6, y - 26, x + 6, y, Style(Ink.LINE, Ink.SHADE), "sensor"),
        parts.rectangle(x - 14, y - 44, x + 14, y - 26, parts.EDGE),
        Label((x + 22, y - 28), "sensor", anchor=Anchor.START, bold=True),
    ]
    if state.asked in {"tooth", "teeth"}:
        text, ink = parts.shown(state.answer, asked=True, solution=solution)
        word = "tooth" if state.asked == "tooth" else "teeth"
        shapes.append(
            Label((x - 22, y - 28), f"{word} {text}", anchor=Anchor.END, ink=ink, bold=True)
        )
    return shapes


def _angle(state: ToneWheelView, *, solution: bool) -> list[Shape]:
    """Mark the asked angle outside the rim: a step on the left of the wheel, or the gap."""
    step = _step(state)
    if state.asked == "step":
        start = state.turned_deg - step * round((state.turned_deg + 90) / step)
        sweep = step
    elif state.asked == "gap":
        start, sweep = state.turned_deg, step * (state.missing + 1)
    else:
        return []
    text, ink = parts.shown(state.answer, asked=True, solution=solution)
    rays = tuple(
        (at_clock(CENTRE, ROOT, deg), at_clock(CENTRE, TIP + 14, deg))
        for deg in (start, start + sweep)
    )
    return [
        Lines(rays, Style(ink, weight=Weight.THIN)),
        *parts.angle_mark(CENTRE, TIP + 10, start, sweep, text, ink, name=state.asked),
    ]


def _x(deg: float) -> float:
    return LEFT + (RIGHT - LEFT) * deg / 360


def _trace(state: ToneWheelView) -> list[Shape]:
    step = _step(state)
    points: list[Point] = [(LEFT, _LOW)]
    for tooth in range(state.places - state.missing):
        rise, fall = _x(tooth * step), _x((tooth + 0.5) * step)
        points += [(rise, _LOW), (rise, _HIGH), (fall, _HIGH), (fall, _LOW)]
    points.append((RIGHT, _LOW))
    here = _x(state.turned_deg % 360)
    return [
        Label((LEFT, _HIGH - 16), "crank signal", anchor=Anchor.START, ink=Ink.FAINT),
        Polyline(tuple(points), parts.FINE, name="trace"),
        Arrow((here, _LOW + 26), (here, _LOW + 4), Style(Ink.ACCENT), name="now"),
    ]


def _numbers(state: ToneWheelView) -> list[Shape]:
    """Number a tooth now and then; a ring inside the rim stays free for letters."""
    every = 10 if state.places > 40 else 5
    edges = tooth_edges_deg(state)
    half = _step(state) / 4
    shapes: list[Shape] = []
    for tooth in range(1, len(edges) + 1):
        if tooth != 1 and tooth % every:
            continue
        x, y = at_clock(CENTRE, ROOT - 36, edges[tooth - 1] - half)
        shapes.append(
            Label((x, y + 6), str(tooth), ink=Ink.SOLUTION, bold=True, name="tooth number")
        )
    return shapes


def _cam(state: ToneWheelView, *, solution: bool) -> list[Shape]:
    rise, should = _x(state.cam_edge_deg), _x(state.cam_should_deg)
    points = ((LEFT, _CAM_LOW), (rise, _CAM_LOW), (rise, _CAM_HIGH), (RIGHT, _CAM_HIGH))
    dashed = Style(Ink.COOL, weight=Weight.THIN, dash=parts.HIDDEN.dash)
    asked = state.asked == "cam"
    text, ink = parts.shown(state.answer, asked=asked, solution=solution)
    half = text_width(text, parts.TEXT, bold=True) / 2
    middle = min(max((rise + should) / 2, LEFT + half), RIGHT - half)
    shapes: list[Shape] = [
        Label((LEFT, _CAM_HIGH - 8), "cam signal", anchor=Anchor.START, ink=Ink.FAINT, halo=True),
        Polyline(points, parts.OPEN_EDGE, name="cam trace"),
        Lines((((should, _CAM_HIGH - 12), (should, _CAM_LOW + 6)),), dashed, name="cam should"),
    ]
    if asked:
        shapes.append(
            Label((middle, _CAM_LOW + 24), text, ink=ink, bold=True, halo=True, name="cam error")
        )
    return shapes
