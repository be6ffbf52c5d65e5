"""Two pulleys or sprockets and an open belt or chain: diameters, centre distance, wrap, span."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.chain_line import Sight, fitted, strand_shapes
from quizsvc.figures.scene import Arc, Circle, Ink, Label, Lines, Point, Scene, Shape, Style, Weight
from quizsvc.timing.path import DrivePath, PathWheel

QUESTIONS = ("", "length", "first wrap", "second wrap", "speed", "tension", "centre")


@dataclass(frozen=True, slots=True)
class Pulley:
    """One pulley: its name, its diameter, and a word under it ("3000 rpm", "18 teeth")."""

    name: str
    diameter_mm: float
    word: str = ""


@dataclass(frozen=True, slots=True)
class PulleyPair:
    """The first pulley, on the left, drives; both turn clockwise.

    ``idler_mm``: diameter of a roller on the belt's back between them (0 for none), pressed
    ``idler_in_mm`` into the lower, slack strand. ``asked``: one of `QUESTIONS`; ``answer`` is
    what the solution writes for "speed" and "tension"; lengths and wraps are computed.
    """

    first: Pulley
    second: Pulley
    centre_mm: float
    idler_mm: float = 0.0
    idler_in_mm: float = 0.0
    asked: str = ""
    answer: str = ""
    diameters_shown: bool = True
    note: str = ""


def describe(state: PulleyPair) -> str:
    wheels = " ".join(
        f"{place} {pulley.name}{_diameter_words(state, pulley)}{_word(state, pulley)}."
        for place, pulley in (("Left:", state.first), ("Right:", state.second))
    )
    centre = "asked for" if state.asked == "centre" else f"{parts.plain(state.centre_mm)} mm"
    idler = (
        f" A roller of {state.idler_mm:g} mm presses on the belt's back from below."
        if state.idler_mm
        else ""
    )
    asked = {
        "length": " The length of the whole belt is asked for.",
        "first wrap": f" The wrap on the {state.first.name} is asked for.",
        "second wrap": f" The wrap on the {state.second.name} is asked for.",
        "tension": " The tension of the upper strand is asked for.",
    }.get(state.asked, "")
    note = f" {state.note}" if state.note else ""
    return (
        f"Two wheels and an open belt, seen from the front, turning clockwise. {wheels} Centre "
        f"distance {centre}.{idler}{asked}{note}"
    )


def draw(state: PulleyPair, *, solution: bool = False) -> Scene:
    if state.asked not in QUESTIONS:
        raise InputError(
            "there is no such question.",
            field="asked",
            value=state.asked,
            remedy=f"Give one of {', '.join(map(repr, QUESTIONS))}.",
        )
    path = path_of(state)
    sight = _sight(state)
    low = max(sight.at((0, -w.radius_mm))[1] for w in path.wheels if not w.back)
    shapes: list[Shape] = [
        *_wheels(path, sight),
        *strand_shapes(path, sight, Style(Ink.LINE, weight=Weight.THICK), "belt"),
        *_words(state, sight, low, solution=solution),
        *_centre(state, sight, low + 62, solution=solution),
        *_question(state, path, sight, solution=solution),
    ]
    words, height = parts.caption(
        state.note or "Seen from the front, both wheels turning clockwise; to scale.", low + 84
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


@lru_cache(maxsize=128)
def path_of(state: PulleyPair) -> DrivePath:
    """Return the belt's path as the core lays it, the first pulley at the origin."""
    first = PathWheel(0, 0, state.first.diameter_mm / 2)
    second = PathWheel(state.centre_mm, 0, state.second.diameter_mm / 2)
    if not state.idler_mm:
        return DrivePath((first, second), clockwise=True)
    strand = -(first.radius_mm + second.radius_mm) / 2
    y = strand + state.idler_in_mm - state.idler_mm / 2
    idler = PathWheel(state.centre_mm / 2, y, state.idler_mm / 2, back=True)
    return DrivePath((first, second, idler), clockwise=True)


def _sight(state: PulleyPair) -> Sight:
    rounds = [
        (0.0, 0.0, state.first.diameter_mm / 2),
        (state.centre_mm, 0.0, state.second.diameter_mm / 2),
    ]
    side = 84 if "wrap" in state.asked else 44  # the wrap's number stands outside its wheel
    return fitted(rounds, (side, 66, parts.WIDTH - side, 330))


def _diameter_words(state: PulleyPair, pulley: Pulley) -> str:
    return f", diameter {parts.plain(pulley.diameter_mm, 2)} mm" if state.diameters_shown else ""


def _word(state: PulleyPair, pulley: Pulley) -> str:
    if state.asked == "speed" and pulley is state.second:
        return ", speed asked for"
    return f", {pulley.word}" if pulley.word else ""


def _wheels(path: DrivePath, sight: Sight) -> list[Shape]:
    shapes: list[Shape] = []
    for wheel in path.wheels:
        centre, radius = sight.at((wheel.x_mm, wheel.y_mm)), wheel.radius_mm * sight.scale
        shapes.append(
            Circle(centre, radius, parts.FINE_EDGE, name="idler" if wheel.back else "pulley")
        )
        shapes += parts.hub(centre, min(16.0, radius * 0.3))
    shapes += parts.turning_arrow(
        sight.at((0, 0)), path.wheels[0].radius_mm * sight.scale * 0.6, -50, 100, parts.FINE
    )
    return shapes


def _words(state: PulleyPair, sight: Sight, low: float, *, solution: bool) -> list[Shape]:
    shapes: list[Shape] = []
    for pulley, x_mm in ((state.first, 0.0), (state.second, state.centre_mm)):
        x, _ = sight.at((x_mm, 0))
        x = min(max(x, 92.0), parts.WIDTH - 92.0)
        shapes.append(Label((x, 24), pulley.name, bold=True))
        size = f"Ø {parts.plain(pulley.diameter_mm, 2)} mm" if state.diameters_shown else ""
        asked = state.asked == "speed" and pulley is state.second
        word, ink = parts.shown(
            state.answer if asked else pulley.word, asked=asked, solution=solution
        )
        shapes += [
            Label(
                (x, low + 22 + parts.LINE_HEIGHT * row),
                text,
                ink=colour,
                bold=colour is not Ink.LINE,
            )
            for row, (text, colour) in enumerate(((size, Ink.LINE), (word, ink)))
            if text
        ]
    return shapes


def _centre(state: PulleyPair, sight: Sight, y: float, *, solution: bool) -> list[Shape]:
    text, ink = parts.shown(
        f"{parts.plain(state.centre_mm, 2)} mm", asked=state.asked == "centre", solution=solution
    )
    start, end = (sight.at((x, 0)) for x in (0.0, state.centre_mm))
    return [
        Lines((((start[0], start[1]), (start[0], y + 8)), ((end[0], end[1]), (end[0], y + 8))),
              parts.CENTRE_LINE),
        *parts.dimension((start[0], y), (end[0], y), text, ink, name="centre distance"),
    ]  # fmt: skip


def _question(state: PulleyPair, path: DrivePath, sight: Sight, *, solution: bool) -> list[Shape]:
    if state.asked in {"first wrap", "second wrap"}:
        return _wrap(0 if state.asked == "first wrap" else 1, path, sight, solution=solution)
    upper = path.spans[0]
    middle = sight.at(((upper.start[0] + upper.end[0]) / 2, (upper.start[1] + upper.end[1]) / 2))
    if state.asked == "length":
        text, ink = parts.shown(
            f"{parts.plain(path.length_mm, 1)} mm", asked=True, solution=solution
        )
        return [Label((middle[0], 52), f"whole belt {text}", ink=ink, bold=True, name="length")]
    if state.asked == "tension":
        text, ink = parts.shown(state.answer, asked=True, solution=solution)
        return [Label((middle[0], 52), f"tension {text}", ink=ink, bold=True, name="tension")]
    return []


def _wrap(index: int, path: DrivePath, sight: Sight, *, solution: bool) -> list[Shape]:
    """Mark the wrap inside its wheel: rays to where the belt meets and leaves it."""
    arc, wheel = path.arcs[index], path.wheels[index]
    centre: Point = sight.at((wheel.x_mm, wheel.y_mm))
    radius = wheel.radius_mm * sight.scale
    text, ink = parts.shown(f"{parts.plain(arc.wrap_deg)}°", asked=True, solution=solution)
    thick = Arc(centre, radius, arc.start_deg, arc.wrap_deg, Style(ink, weight=Weight.THICK),
                name="wrap")  # fmt: skip
    rays = tuple((centre, sight.at(place)) for place in (path.spans[index - 1].end,
                                                         path.spans[index].start))  # fmt: skip
    middle = arc.start_deg + arc.wrap_deg / 2
    word = parts.angle_mark(centre, radius + 4, middle, 0, text, ink, name="wrap")[1]
    return [thick, Lines(rays, Style(ink, weight=Weight.THIN)), word]
