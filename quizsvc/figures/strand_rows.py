"""A counted strand laid out in rows, where the drawing itself is too small to count from."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.lettering import text_width
from quizsvc.figures.scene import (
    Anchor,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Shape,
    Style,
    Weight,
)

SPACING = 11.5  # least distance of pins that are to be counted: 8.6 px on a phone
BELT_SPACING = 16.0  # a belt's teeth, wider than pins, run together sooner
NUMBER_EVERY = 5
_ROW_PINS, _ROW_SPACING, _ROW_HEIGHT = 17, 24.0, 46.0
_TOOTH = ((-7, -5), (-5, 6), (5, 6), (7, -5))  # of an enlarged belt, from its middle


def counting_words(pins: int, start: str, end: str, pin: str = "pin") -> str:
    """Name the pins one by one in fives, so that they can be counted without being told.

    ``pin`` is what is counted: a belt has teeth.

    >>> counting_words(3, "crankshaft", "camshaft")
    'Pin by pin from the pin at the crankshaft mark: pin, pin, pin at the camshaft mark.'
    """
    fives = [", ".join([pin] * 5)] * (pins // 5)
    rest = ", ".join([pin] * (pins % 5))
    named = "; ".join([*fives, rest] if rest else fives)
    first = f"{pin.capitalize()} by {pin} from the {pin} at the {start} mark"
    return f"{first}: {named} at the {end} mark."


def enlarged(
    pins: int, ends: tuple[str, str], top: float, *, solution: bool, belt: bool = False
) -> tuple[list[Shape], float]:
    """Return the strand's pins in rows from mark to mark, and where they end below.

    ``ends`` are the names of what carries the first and the second mark. A ``belt`` shows teeth
    under its back.
    """
    places = _places(pins, top)
    rows = [tuple(places[row : row + _ROW_PINS]) for row in range(0, pins + 1, _ROW_PINS)]
    shapes: list[Shape] = [
        Label((places[0][0] - 8, top + 8), "The counted strand, enlarged:", anchor=Anchor.START),
        *(_belt_rows(rows) if belt else _chain_rows(rows)),
        *_mark(places[0], ends[0]),
        *_mark(places[-1], ends[1], lower=_crowded(pins, ends)),
    ]
    if solution:
        shapes += [
            Label((x, y - 12), str(number), ink=Ink.SOLUTION, bold=True, name="pin number")
            for number, (x, y) in enumerate(places)
            if number and (number % NUMBER_EVERY == 0 or number == pins)
            if number == pins or pins - number > 1 or number % _ROW_PINS == _ROW_PINS - 1
        ]
    return shapes, places[-1][1] + 60 + (parts.LINE_HEIGHT if _crowded(pins, ends) else 0)


def _chain_rows(rows: list[tuple[Point, ...]]) -> list[Shape]:
    places = [place for row in rows for place in row]
    return [
        Lines(tuple(row for row in rows if len(row) > 1), parts.FINE),
        parts.pins(places, 6, parts.SOLID_PIN, "enlarged pins"),
    ]


def _belt_rows(rows: list[tuple[Point, ...]]) -> list[Shape]:
    backs = tuple(
        ((row[0][0] - 10, row[0][1] - 5), (row[-1][0] + 10, row[0][1] - 5)) for row in rows
    )
    teeth = [
        Polyline(
            tuple((x + across, y + down) for across, down in _TOOTH),
            parts.SOLID_PIN,
            closed=True,
            name="enlarged tooth",
        )
        for row in rows
        for x, y in row
    ]
    return [Lines(backs, Style(Ink.LINE, weight=Weight.THICK)), *teeth]


def _places(pins: int, top: float) -> list[Point]:
    left = (parts.WIDTH - _ROW_SPACING * (_ROW_PINS - 1)) / 2
    return [
        (left + _ROW_SPACING * (pin % _ROW_PINS), _row_top(top, pin // _ROW_PINS))
        for pin in range(pins + 1)
    ]


def _row_top(top: float, row: int) -> float:
    """Return the height of a row; below the first stands the first mark's word."""
    return top + 44 + _ROW_HEIGHT * row + (20 if row else 0)


def _crowded(pins: int, ends: tuple[str, str]) -> bool:
    """Say whether both marks' words stand under one row and would run into each other."""
    room = _ROW_SPACING * pins + 16
    wide = sum(text_width(f"{name} mark", parts.TEXT, bold=True) for name in ends)
    return pins < _ROW_PINS and wide > room - 10


def _mark(place: Point, name: str, *, lower: bool = False) -> list[Shape]:
    foot = (place[0], place[1] + 24)
    left = place[0] < parts.WIDTH / 2
    at = (place[0] + (-8 if left else 8), foot[1] + 14 + (parts.LINE_HEIGHT if lower else 0))
    anchor = Anchor.START if left else Anchor.END
    return [
        parts.mark_pointer(foot, 14, 14, 0, f"enlarged mark {name}"),
        Label(at, f"{name} mark", anchor=anchor, ink=Ink.MARK, bold=True),
    ]
