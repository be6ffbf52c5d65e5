"""The firing order as a row of numbered boxes, one cylinder given and another asked for."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import Area, Arrow, Ink, Label, Lines, Scene, Shape, Style, Weight

_TOP, _BOX = 86.0, 44.0
QUESTIONS = ("next", "companion", "interval", "")


@dataclass(frozen=True, slots=True)
class FiringRow:
    """A firing order; ``given`` is the cylinder spoken of (0 for none).

    ``intervals_deg`` are written between the boxes (None for "?"), the last one being that from
    the last cylinder back to the first. ``question`` says what is asked: "next", "companion",
    "interval" or nothing; ``answer`` is the cylinder that the solution points out.
    """

    firing_order: tuple[int, ...]
    given: int = 0
    question: str = ""
    answer: int = 0
    intervals_deg: tuple[float | None, ...] = ()
    answer_interval_deg: float | None = None


def describe(state: FiringRow) -> str:
    order = ", ".join(str(cylinder) for cylinder in state.firing_order)
    given = f" Cylinder {state.given} is marked." if state.given else ""
    between = ""
    if state.intervals_deg:
        said = ", ".join("asked" if deg is None else f"{deg:g}°" for deg in state.intervals_deg)
        between = f" Crank degrees from each to the one after it: {said}."
    asked = {
        "next": " Asked: which cylinder fires next.",
        "companion": " Asked: which piston moves together with it.",
        "interval": " Asked: the interval.",
        "": "",
    }[state.question]
    return f"Firing order as a row, read left to right and then from the start again: {order}." + (
        given + between + asked
    )


def draw(state: FiringRow, *, solution: bool = False) -> Scene:
    _check(state)
    shapes: list[Shape] = [*_return_line(state)]
    for place, cylinder in enumerate(state.firing_order):
        shapes += _box(state, place, cylinder, solution=solution)
    words, height = parts.caption(_caption(state), _TOP + _BOX + 74)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def places(state: FiringRow) -> tuple[Area, ...]:
    """Return each box as a place to point at."""
    radius = max(14.0, _width(state) / 2)
    return tuple(
        Area(f"cylinder {cylinder}", (box_centre(state, place), _TOP + _BOX / 2), radius)
        for place, cylinder in enumerate(state.firing_order)
    )


def box_centre(state: FiringRow, place: int) -> float:
    """Return the middle of a box, from the left edge of the picture."""
    step = _step(state)
    first = (parts.WIDTH - step * (len(state.firing_order) - 1)) / 2
    return first + step * place


def _step(state: FiringRow) -> float:
    return min(112.0, (parts.WIDTH - 2 * parts.MARGIN - _width(state)) / _gaps(state))


def _width(state: FiringRow) -> float:
    return min(_BOX, (parts.WIDTH - 2 * parts.MARGIN) / len(state.firing_order) - 12)


def _gaps(state: FiringRow) -> int:
    return max(1, len(state.firing_order) - 1)


def _check(state: FiringRow) -> None:
    if len(set(state.firing_order)) != len(state.firing_order) or not state.firing_order:
        raise InputError(
            "a firing order names each cylinder once.",
            field="firing_order",
            value=state.firing_order,
            remedy="Name every cylinder once.",
        )
    if state.question not in QUESTIONS:
        raise InputError(
            "there is no such question.",
            field="question",
            value=state.question,
            remedy=f"Give one of {', '.join(map(repr, QUESTIONS))}.",
        )


def _box(state: FiringRow, place: int, cylinder: int, *, solution: bool) -> list[Shape]:
    x, half = box_centre(state, place), _width(state) / 2
    style = Style(Ink.LINE, Ink.METAL)
    ink = Ink.LINE
    shapes: list[Shape] = []
    if cylinder == state.given:
        style = Style(Ink.ACCENT, Ink.PAPER, Weight.THICK)
        ink = Ink.ACCENT
        shapes += _pointed(x, "given", ink, 32)
    if solution and cylinder == state.answer:
        style = Style(Ink.SOLUTION, Ink.PAPER, Weight.THICK)
        ink = Ink.SOLUTION
        shapes += _pointed(x, state.question or "answer", ink, 56)
    frame = parts.rectangle(x - half, _TOP, x + half, _TOP + _BOX, style, f"box {cylinder}")
    number = Label((x, _TOP + 30), str(cylinder), 22, ink=ink, bold=True, name=f"place {place}")
    return [*shapes, frame, number, *_interval(state, place, solution=solution)]


def _pointed(x: float, word: str, ink: Ink, up: float) -> list[Shape]:
    """Point at a box from ``up`` above it; two heights keep neighbours' words apart."""
    x_word = min(max(x, parts.MARGIN + 44), parts.WIDTH - parts.MARGIN - 44)
    return [
        Label((x_word, _TOP - up - 6), word, ink=ink, bold=True),
        Arrow((x, _TOP - up), (x, _TOP - 5), Style(ink)),
    ]


def _interval(state: FiringRow, place: int, *, solution: bool) -> list[Shape]:
    """Write the interval under the gap that follows a box; dimension lines meet at the boxes."""
    if place >= len(state.intervals_deg):
        return []
    start = box_centre(state, place)
    step, y = _step(state), _TOP + _BOX + 20
    last = place == len(state.firing_order) - 1
    value = state.intervals_deg[place]
    text, ink = ("?", Ink.ACCENT) if value is None else (f"{value:g}°", Ink.LINE)
    if value is None and solution and state.answer_interval_deg is not None:
        text, ink = f"{state.answer_interval_deg:g}°", Ink.SOLUTION
    if last:
        return [
            Label(
                (parts.WIDTH / 2, y + 36),
                text,
                ink=ink,
                bold=value is None,
                halo=True,
                name=f"interval {place}",
            )
        ]
    ticks = tuple(((x, y - 5), (x, y + 5)) for x in (start, start + step))
    return [
        Lines((((start, y), (start + step, y)), *ticks), parts.DIMENSION),
        Label(
            (start + step / 2, y + 5),
            text,
            ink=ink,
            bold=value is None,
            halo=True,
            name=f"interval {place}",
        ),
    ]


def _return_line(state: FiringRow) -> list[Shape]:
    """Lead from the last box back to the first: the order has no end."""
    left, right = box_centre(state, 0), box_centre(state, len(state.firing_order) - 1)
    y = _TOP + _BOX + (50 if state.intervals_deg else 30)
    low = _TOP + _BOX + (26 if state.intervals_deg else 4)
    return [
        Lines((((right, low), (right, y), (left, y)),), parts.FINE),
        Arrow((left, y), (left, low), parts.FINE, name="return"),
    ]


def _caption(state: FiringRow) -> str:
    asked = {
        "next": "Which cylinder fires next?",
        "companion": "Which piston moves together with the given one?",
        "interval": "Which interval belongs at the question mark?",
        "": "",
    }[state.question]
    return f"Firing order, read left to right, then from the start again. {asked}".strip()
