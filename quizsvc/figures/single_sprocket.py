"""One sprocket with its mark at a clock angle: for mark turns, teeth and the pitch circle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians

from quizsvc.errors import InputError
from quizsvc.figures import belt_line, parts
from quizsvc.figures.chain_line import seat_radius
from quizsvc.figures.scene import (
    Circle,
    Dash,
    Ink,
    Label,
    Lines,
    Point,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

CENTRE: Point = (parts.WIDTH / 2, 200.0)
RADIUS = 132.0
QUESTIONS = ("", "mark", "pitch diameter", "tooth angle", "ripple")


@dataclass(frozen=True, slots=True)
class SingleSprocket:
    """A sprocket from the front.

    ``asked``: "mark" (where the mark stands after turning by ``turn_deg`` of this sprocket,
    positive clockwise), "pitch diameter" (with ``pitch_mm``), "tooth angle", or "ripple" (the
    polygon on which the chain rises and falls).
    """

    name: str
    teeth: int
    mark_deg: float | None = None
    asked: str = ""
    turn_deg: float = 0.0
    pitch_mm: float = 0.0
    note: str = ""
    wheel: str = "sprocket"  # or "pulley", of a toothed belt


def describe(state: SingleSprocket) -> str:
    mark = "" if state.mark_deg is None else f" Its mark stands at {_clock_deg(state.mark_deg)}."
    asked = {
        "": "",
        "mark": " Asked: where the mark stands after turning.",
        "pitch diameter": " The pitch circle runs through the pins; its diameter is asked for. "
        f"The pitch, from pin to pin, is {state.pitch_mm:g} mm.",
        "tooth angle": " The angle from one tooth to the next is asked for.",
        "ripple": " Pins joined by straight links make a polygon; the chain rises and falls by "
        "the difference between corner and flat, which is asked for.",
    }[state.asked]
    note = f" {state.note}" if state.note else ""
    return f"The {state.name} {state.wheel} from the front, {state.teeth} teeth.{mark}{asked}{note}"


def draw(state: SingleSprocket, *, solution: bool = False) -> Scene:
    if state.asked not in QUESTIONS:
        raise InputError(
            "there is no such question.",
            field="asked",
            value=state.asked,
            remedy=f"Give one of {', '.join(map(repr, QUESTIONS))}.",
        )
    shapes: list[Shape] = [*_wheel(state), *_clock(state)]
    if state.mark_deg is not None:
        shapes += _mark(state, solution=solution)
    shapes += _ASKED[state.asked](state, solution=solution) if state.asked in _ASKED else []
    words, height = parts.caption(
        state.note
        or f"{state.name.capitalize()} {state.wheel}, {state.teeth} teeth, from the front.",
        402,
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _clock_deg(deg: float) -> str:
    return f"{parts.plain(deg % 360)}° clockwise from straight up"


def _pitch(state: SingleSprocket) -> float:
    return RADIUS / seat_radius(state.teeth)


def _wheel(state: SingleSprocket) -> list[Shape]:
    seat = state.mark_deg or 0.0
    outline = (
        belt_line.grooved(CENTRE, state.teeth, _pitch(state), RADIUS, seat, "pulley")
        if state.wheel == "pulley"
        else parts.toothed(CENTRE, state.teeth, _pitch(state), seat, "sprocket")
    )
    return [
        outline,
        *parts.hub(CENTRE, 26),
    ]


def _clock(state: SingleSprocket) -> list[Shape]:
    """Draw a ring of degree ticks around the sprocket where an angle is read from it."""
    if state.mark_deg is None:
        return []
    rim = RADIUS + 22
    ticks = tuple(
        (at_clock(CENTRE, rim, deg), at_clock(CENTRE, rim + (10 if deg % 30 == 0 else 5), deg))
        for deg in range(0, 360, 10)
    )
    words = [
        Label((x, y + 6), f"{deg}°", ink=Ink.FAINT)
        for deg in (0, 90, 180, 270)
        for x, y in [at_clock(CENTRE, rim + (22 if deg % 180 == 0 else 32), deg)]
    ]
    return [Lines(ticks, parts.DIMENSION), *words]


def _mark(state: SingleSprocket, *, solution: bool) -> list[Shape]:
    mark = state.mark_deg or 0.0
    deep = belt_line.TIP + 0.16 if state.wheel == "pulley" else 0.36
    tip = RADIUS - _pitch(state) * deep
    x, y = at_clock(CENTRE, tip - 42, mark)
    shapes: list[Shape] = [parts.mark_pointer(CENTRE, tip, 26, mark, "mark")]
    if not (solution and state.asked == "mark"):
        shapes.append(Label((x, y + 6), "mark", ink=Ink.MARK, bold=True, halo=True))
    return shapes


def _turned(state: SingleSprocket, *, solution: bool) -> list[Shape]:
    if not solution:
        return []
    end = (state.mark_deg or 0.0) + state.turn_deg
    deep = belt_line.TIP + 0.16 if state.wheel == "pulley" else 0.36
    tip = RADIUS - _pitch(state) * deep
    x, y = at_clock(CENTRE, tip - 46, end)
    ghost = parts.mark_pointer(CENTRE, tip, 26, end, "mark turned")
    outline = type(ghost)(
        ghost.points, Style(Ink.SOLUTION, Ink.PAPER), closed=True, name=ghost.name
    )
    shown = state.turn_deg % 360 if state.turn_deg >= 0 else -(-state.turn_deg % 360)
    arrow = parts.turning_arrow(
        CENTRE, 56, state.mark_deg or 0.0, shown or 359.0, Style(Ink.SOLUTION)
    )
    text = f"{parts.plain(end % 360)}°"
    return [*arrow, outline, Label((x, y + 6), text, ink=Ink.SOLUTION, bold=True, halo=True)]


def _diameter(state: SingleSprocket, *, solution: bool) -> list[Shape]:
    y = CENTRE[1] + 70
    text, ink = parts.shown(
        f"{parts.plain(2 * seat_radius(state.teeth) * state.pitch_mm, 2)} mm",
        asked=True,
        solution=solution,
    )
    x = CENTRE[0]
    ends = tuple(((x + side, CENTRE[1]), (x + side, y + 6)) for side in (-RADIUS, RADIUS))
    first, second = (at_clock(CENTRE, RADIUS, deg) for deg in (0, 360 / state.teeth))
    out = at_clock(CENTRE, RADIUS + 34, 180 / state.teeth)
    return [
        Circle(CENTRE, RADIUS, Style(Ink.ACCENT, weight=Weight.THIN, dash=Dash.CHAIN),
               name="pitch circle"),
        parts.pins([first, second], 4.5, parts.SOLID_PIN, "pins"),
        Lines(ends, parts.DIMENSION),
        *parts.dimension((x - RADIUS, y), (x + RADIUS, y), text, ink, name="pitch diameter"),
        Label(out, f"pitch {state.pitch_mm:g} mm", bold=True, halo=True),
    ]  # fmt: skip


def _tooth(state: SingleSprocket, *, solution: bool) -> list[Shape]:
    step = 360 / state.teeth
    rays = tuple((CENTRE, at_clock(CENTRE, RADIUS + 26, deg)) for deg in (0, step))
    text, ink = parts.shown(f"{parts.plain(step, 2)}°", asked=True, solution=solution)
    return [
        Lines(rays, Style(Ink.ACCENT, weight=Weight.THIN)),
        *parts.angle_mark(CENTRE, RADIUS + 20, 0, step, text, ink, name="tooth angle"),
    ]


def _ripple(state: SingleSprocket, *, solution: bool) -> list[Shape]:
    step = 360 / state.teeth
    pins = [at_clock(CENTRE, RADIUS, step * (n + 0.5)) for n in range(state.teeth)]
    flat = RADIUS * cos(radians(step / 2))
    percent = f"{parts.plain(100 * (1 - flat / RADIUS), 2)} %"
    text, ink = parts.shown(percent, asked=True, solution=solution)
    return [
        Lines(((*pins, pins[0]),), Style(Ink.ACCENT, weight=Weight.THIN), name="polygon"),
        parts.pins(pins, 3.6, parts.SOLID_PIN, "pins"),
        Circle(CENTRE, RADIUS, Style(Ink.FAINT, weight=Weight.THIN, dash=Dash.DASHED)),
        Circle(CENTRE, flat, Style(Ink.FAINT, weight=Weight.THIN, dash=Dash.DASHED)),
        Label((CENTRE[0], CENTRE[1] - RADIUS - 22), f"rise and fall {text}", ink=ink, bold=True,
              name="ripple"),
    ]  # fmt: skip


_ASKED: dict[str, Callable[..., list[Shape]]] = {
    "mark": _turned,
    "pitch diameter": _diameter,
    "tooth angle": _tooth,
    "ripple": _ripple,
}
