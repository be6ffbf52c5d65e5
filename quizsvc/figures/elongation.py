"""A stretched chain over a ruler: pins from the first to the last of a measured length."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import Ink, Label, Lines, Polyline, Scene, Shape, Style, Weight

LEFT, RIGHT, CHAIN = 40.0, 440.0, 120.0
MOST_PITCHES = 40


@dataclass(frozen=True, slots=True)
class ElongationGauge:
    """``pitches`` of chain pulled straight, ``length_mm`` from first to last pin.

    ``asked``: "percent", "pitches" (count the pins) or nothing. The nominal length is drawn with
    the solution.
    """

    pitches: int
    pitch_mm: float
    length_mm: float
    asked: str = ""
    note: str = ""


def describe(state: ElongationGauge) -> str:
    count = (
        "Pin by pin from the first: " + ", ".join(["pin"] * state.pitches) + "."
        if state.asked == "pitches"
        else f"{state.pitches} pitches lie between the two jaws."
    )
    note = f" {state.note}" if state.note else ""
    return (
        f"A chain pulled straight between the jaws of a long caliper, from the middle of one pin "
        f"to the middle of another. {count} New pitch {state.pitch_mm:g} mm, measured "
        f"{parts.plain(state.length_mm, 2)} mm.{note}"
    )


def draw(state: ElongationGauge, *, solution: bool = False) -> Scene:
    if not 2 <= state.pitches <= MOST_PITCHES:
        raise InputError(
            "so many pins cannot be drawn apart.",
            field="pitches",
            value=state.pitches,
            remedy=f"Measure 2 to {MOST_PITCHES} pitches.",
        )
    shapes = [*_chain(state), *_jaws(state)]
    if solution:
        shapes += _nominal(state)
    words, height = parts.caption(state.note or f"New pitch {state.pitch_mm:g} mm.", 236)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _chain(state: ElongationGauge) -> list[Shape]:
    step = (RIGHT - LEFT) / state.pitches
    centres = [(LEFT + step * n, CHAIN) for n in range(state.pitches + 1)]
    reach = min(9.0, step * 0.45)
    plates = tuple(
        ((x, CHAIN + side * reach), (x + step, CHAIN + side * reach))
        for n, (x, _) in enumerate(centres[:-1])
        for side in ((1, -1) if n % 2 else (0.7, -0.7))
    )
    beyond = (((LEFT - 22, CHAIN), (LEFT, CHAIN)), ((RIGHT, CHAIN), (RIGHT + 22, CHAIN)))
    return [
        Lines((*plates, *beyond), parts.FINE),
        Lines(tuple(((x, CHAIN - reach), (x, CHAIN + reach)) for x, _ in centres), parts.FINE),
        parts.pins(centres, min(4.6, step * 0.24), parts.SOLID_PIN, "pins"),
    ]


def _jaws(state: ElongationGauge) -> list[Shape]:
    y = CHAIN - 62
    shapes: list[Shape] = [
        Lines((((x, y - 8), (x, CHAIN - 12)),), parts.DIMENSION) for x in (LEFT, RIGHT)
    ]
    text = f"{parts.plain(state.length_mm, 2)} mm"
    shapes += parts.dimension((LEFT, y), (RIGHT, y), text, name="length")
    if state.asked != "pitches":
        middle = (LEFT + RIGHT) / 2
        shapes.append(Label((middle, CHAIN + 42), f"{state.pitches} pitches", bold=True))
    return shapes


def _nominal(state: ElongationGauge) -> list[Shape]:
    """Draw where the last pin of a new chain would stand; the difference is to scale."""
    new = state.pitches * state.pitch_mm
    x = LEFT + (RIGHT - LEFT) * new / state.length_mm
    y = CHAIN + 62
    percent = f"{parts.plain(100 * (state.length_mm / new - 1), 2)} %"
    return [
        Polyline(((x, CHAIN - 20), (x, y + 8)), Style(Ink.SOLUTION, weight=Weight.THIN),
                 name="new end"),
        *parts.dimension((LEFT, y), (x, y), f"new {parts.plain(new, 2)} mm", Ink.SOLUTION),
        Label((parts.WIDTH / 2, y + 32), f"{state.pitches} pitches, longer by {percent}",
              ink=Ink.SOLUTION, bold=True, name="percent"),
    ]  # fmt: skip
