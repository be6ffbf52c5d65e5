"""A counted strand laid out in rows, where the drawing itself is too small to count from."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Ink, Label, Lines, Point, Shape

SPACING = 11.5  # least distance of pins that are to be counted: 8.6 px on a phone
NUMBER_EVERY = 5
_ROW_PINS, _ROW_SPACING, _ROW_HEIGHT = 17, 24.0, 46.0


def counting_words(pins: int, start: str, end: str) -> str:
    """Name the pins one by one in fives, so that they can be counted without being told.

    >>> counting_words(3, "crankshaft", "camshaft")
    'Pin by pin from the pin at the crankshaft mark: pin, pin, pin at the camshaft mark.'
    """
    fives = ["pin, pin, pin, pin, pin"] * (pins // 5)
    rest = ", ".join(["pin"] * (pins % 5))
    named = "; ".join([*fives, rest] if rest else fives)
    return f"Pin by pin from the pin at the {start} mark: {named} at the {end} mark."


def enlarged(
    pins: int, ends: tuple[str, str], top: float, *, solution: bool
) -> tuple[list[Shape], float]:
    """Return the strand's pins in rows from mark to mark, and where they end below.

    ``ends`` are the names of what carries the first and the second mark.
    """
    places = _places(pins, top)
    rows = [tuple(places[row : row + _ROW_PINS]) for row in range(0, pins + 1, _ROW_PINS)]
    shapes: list[Shape] = [
        Label((places[0][0] - 8, top + 8), "The counted strand, enlarged:", anchor=Anchor.START),
        Lines(tuple(row for row in rows if len(row) > 1), parts.FINE),
        parts.pins(places, 6, parts.SOLID_PIN, "enlarged pins"),
        *_mark(places[0], ends[0]),
        *_mark(places[-1], ends[1]),
    ]
    if solution:
        shapes += [
            Label((x, y - 12), str(number), ink=Ink.SOLUTION, bold=True, name="pin number")
            for number, (x, y) in enumerate(places)
            if number and (number % NUMBER_EVERY == 0 or number == pins)
            if number == pins or pins - number > 1 or number % _ROW_PINS == _ROW_PINS - 1
        ]
    return shapes, places[-1][1] + 60


def _places(pins: int, top: float) -> list[Point]:
    left = (parts.WIDTH - _ROW_SPACING * (_ROW_PINS - 1)) / 2
    return [
        (left + _ROW_SPACING * (pin % _ROW_PINS), _row_top(top, pin // _ROW_PINS))
        for pin in range(pins + 1)
    ]


def _row_top(top: float, row: int) -> float:
    """Return the height of a row; below the first stands the first mark's word."""
    return top + 44 + _ROW_HEIGHT * row + (20 if row else 0)


def _mark(place: Point, name: str) -> list[Shape]:
    foot = (place[0], place[1] + 24)
    left = place[0] < parts.WIDTH / 2
    at = (place[0] + (-8 if left else 8), foot[1] + 14)
    anchor = Anchor.START if left else Anchor.END
    return [
        parts.mark_pointer(foot, 14, 14, 0, f"enlarged mark {name}"),
        Label(at, f"{name} mark", anchor=anchor, ink=Ink.MARK, bold=True),
    ]
