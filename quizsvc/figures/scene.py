"""A picture as plain shapes: what the SVG and the raster renderer both draw.

Units are picture units (one unit is one CSS pixel at natural size), x to the right, y down.
Shapes say what part they play (`Ink`), never a colour. ``name`` is for tests that read the
picture back ("pin", "mark intake", "piston 3"); renderers never write it, since it could give
an answer away.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import cos, radians, sin

Point = tuple[float, float]


class Ink(StrEnum):
    """The part a line or surface plays; a renderer's palette gives it a colour."""

    NONE = "none"
    LINE = "line"  # visible edges
    FAINT = "faint"  # centre lines, dimension lines, grid
    ACCENT = "accent"  # the thing asked about
    MARK = "mark"  # timing marks and marked links
    SOLUTION = "solution"  # drawn only after the answer
    PAPER = "paper"
    METAL = "metal"  # light surface of a part
    SHADE = "shade"  # darker surface of a part
    WARM = "warm"  # hot or exhaust side
    COOL = "cool"  # cold or intake side


class Weight(StrEnum):
    """Line weights as in technical drawing practice: 0.7, 1.4 and 2.8 units."""

    THIN = "thin"
    MEDIUM = "medium"
    THICK = "thick"


class Dash(StrEnum):
    SOLID = "solid"
    DASHED = "dashed"  # hidden edges
    CHAIN = "chain"  # centre lines: long and short dashes


@dataclass(frozen=True, slots=True)
class Style:
    stroke: Ink = Ink.LINE
    fill: Ink = Ink.NONE
    weight: Weight = Weight.MEDIUM
    dash: Dash = Dash.SOLID


@dataclass(frozen=True, slots=True)
class Polyline:
    points: tuple[Point, ...]
    style: Style = Style()
    closed: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    centre: Point
    radius: float
    style: Style = Style()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Circles:
    """Many equal circles as one shape: the pins of a chain, the holes of a plate."""

    centres: tuple[Point, ...]
    radius: float
    style: Style = Style()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """Many separate strokes as one shape: link plates, hatching, the ticks of a scale."""

    strokes: tuple[tuple[Point, ...], ...]
    style: Style = Style()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle. Angles clockwise from straight up; ``sweep_deg`` may be negative."""

    centre: Point
    radius: float
    start_deg: float
    sweep_deg: float
    style: Style = Style()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Arrow:
    """A straight arrow with its head at ``end``."""

    start: Point
    end: Point
    style: Style = Style()
    name: str = ""


class Anchor(StrEnum):
    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Label:
    """A word or number. ``halo`` lays paper around the letters where lines run behind."""

    at: Point  # baseline point
    text: str
    size: float = 16.0
    anchor: Anchor = Anchor.MIDDLE
    ink: Ink = Ink.LINE
    bold: bool = False
    halo: bool = False
    name: str = ""


Shape = Polyline | Circle | Circles | Lines | Arc | Arrow | Label


@dataclass(frozen=True, slots=True)
class Area:
    """A named place on a picture, for answers that point: a circle in picture units."""

    name: str
    centre: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole picture. ``alt`` says what is seen without giving the answer away."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    alt: str


def at_clock(centre: Point, radius: float, deg: float) -> Point:
    """Return the point at ``radius`` from ``centre``, ``deg`` clockwise from straight up.

    >>> x, y = at_clock((100, 100), 50, 90)
    >>> round(x), round(y)
    (150, 100)
    """
    turn = radians(deg)
    return (centre[0] + radius * sin(turn), centre[1] - radius * cos(turn))
