"""Parts that several figures draw alike: sprockets, marks, pins, cut walls, captions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, hypot, radians, sin

from quizsvc.figures.lettering import box, text_width
from quizsvc.figures.scene import (
    Anchor,
    Arc,
    Arrow,
    Circle,
    Circles,
    Dash,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Shape,
    Style,
    Weight,
    at_clock,
)

WIDTH = 480.0  # natural width: 16 units stay above 11 px on a phone 390 px wide
MARGIN = 18.0
TEXT = 16.0
LINE_HEIGHT = 21.0

EDGE = Style(Ink.LINE, Ink.METAL)
FINE_EDGE = Style(Ink.LINE, Ink.METAL, Weight.THIN)
OPEN_EDGE = Style(Ink.LINE)
CENTRE_LINE = Style(Ink.FAINT, weight=Weight.THIN, dash=Dash.CHAIN)
HIDDEN = Style(Ink.LINE, weight=Weight.THIN, dash=Dash.DASHED)
FINE = Style(Ink.LINE, weight=Weight.THIN)
DIMENSION = Style(Ink.FAINT, weight=Weight.THIN)
HATCH = Style(Ink.FAINT, weight=Weight.THIN)
MARKING = Style(Ink.MARK, Ink.MARK, Weight.THIN)
SOLVED = Style(Ink.SOLUTION)
SOLID_PIN = Style(Ink.NONE, Ink.LINE)
OPEN_PIN = Style(Ink.LINE, Ink.PAPER, Weight.THIN)

# Per tooth, from one seat to the next: (part of the tooth pitch, height in pitches).
_TOOTH = ((-0.29, -0.2), (-0.12, -0.33), (0.12, -0.33), (0.29, -0.2), (0.42, 0.2), (0.58, 0.2))


def toothed(centre: Point, teeth: int, pitch: float, seat_deg: float, name: str) -> Polyline:
    """Return a sprocket's outline with a pin seat at ``seat_deg``.

    ``pitch`` is the chain's pitch in picture units.
    """
    radius = pitch / 2 / sin(radians(180 / teeth))
    step = 360 / teeth
    rings = [(part * step, radius + height * pitch) for part, height in _TOOTH]
    x, y = centre
    points = []
    for tooth in range(teeth):
        base = seat_deg + tooth * step
        for turn, reach in rings:
            angle = radians(base + turn)
            points.append((x + reach * sin(angle), y - reach * cos(angle)))
    return Polyline(tuple(points), FINE_EDGE, closed=True, name=name)


def hub(centre: Point, radius: float) -> list[Shape]:
    """Return a hub with its bore, and the crossed centre lines of a turning part."""
    x, y = centre
    reach = radius * 1.5
    return [
        Circle(centre, radius, Style(Ink.LINE, Ink.PAPER, Weight.THIN)),
        Circle(centre, max(2.5, radius * 0.35), OPEN_EDGE),
        Lines((((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))), CENTRE_LINE),
    ]


def mark_pointer(centre: Point, tip: float, length: float, deg: float, name: str) -> Polyline:
    """Return a timing mark: a slim wedge whose tip, at radius ``tip``, points outwards."""
    half = length * 0.36
    foot = at_clock(centre, tip - length, deg)
    side = radians(deg)
    across = (cos(side) * half, sin(side) * half)
    return Polyline(
        (
            at_clock(centre, tip, deg),
            (foot[0] + across[0], foot[1] + across[1]),
            (foot[0] - across[0], foot[1] - across[1]),
        ),
        MARKING,
        closed=True,
        name=name,
    )


def turning_arrow(
    centre: Point, radius: float, start_deg: float, sweep_deg: float, style: Style = OPEN_EDGE
) -> list[Shape]:
    """Return a curved arrow; the head stands at the end of the sweep."""
    reach = 9.0 / radius * 57.3  # the head's length as an angle
    way = 1 if sweep_deg > 0 else -1
    end = start_deg + sweep_deg
    tail = at_clock(centre, radius, end - way * reach)
    tip = at_clock(centre, radius, end + way * reach * 0.1)
    return [
        Arc(centre, radius, start_deg, sweep_deg - way * reach * 0.6, style),
        Arrow(tail, tip, style, name="rotation"),
    ]


def hatched(left: float, top: float, right: float, bottom: float, *, gap: float = 9) -> Lines:
    """Return 45° hatching of a cut wall, falling to the left."""
    strokes = []
    width, height = right - left, bottom - top
    offset = gap / 2
    while offset < width + height:
        strokes.append(
            (
                (left + min(offset, width), top + max(0.0, offset - width)),
                (left + max(0.0, offset - height), top + min(offset, height)),
            )
        )
        offset += gap
    return Lines(tuple(strokes), HATCH)


def rectangle(
    left: float, top: float, right: float, bottom: float, style: Style = EDGE, name: str = ""
) -> Polyline:
    return Polyline(
        ((left, top), (right, top), (right, bottom), (left, bottom)),
        style,
        closed=True,
        name=name,
    )


def pins(centres: Sequence[Point], radius: float, style: Style, name: str) -> Circles:
    return Circles(tuple(centres), radius, style, name)


def wrapped(text: str, width: float, size: float = TEXT) -> list[str]:
    """Break a text into lines no wider than ``width``."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def caption(text: str, top: float, *, width: float = WIDTH) -> tuple[list[Shape], float]:
    """Return a caption under a fine rule, and the height at which the picture ends."""
    shapes: list[Shape] = [Lines((((MARGIN, top), (width - MARGIN, top)),), DIMENSION)]
    lines = wrapped(text, width - 2 * MARGIN)
    for number, line in enumerate(lines):
        at = (MARGIN, top + LINE_HEIGHT * (number + 1))
        shapes.append(Label(at, line, TEXT, Anchor.START, Ink.FAINT))
    return shapes, top + LINE_HEIGHT * len(lines) + 12


def on_paper(label: Label, *, width: float = WIDTH) -> Label:
    """Return a label moved sideways so far that it stands on the picture."""
    left, _, right, _ = box(label)
    shift = max(0.0, 4 - left) - max(0.0, right - width + 4)
    return replace(label, at=(label.at[0] + shift, label.at[1])) if shift else label


def clock_words(deg: float) -> str:
    """Return a direction as on a clock face, to the half hour.

    >>> clock_words(0), clock_words(91), clock_words(-105)
    ("12 o'clock", "3 o'clock", 'half past 8')
    """
    halves = round(deg / 15) % 24
    hour = halves // 2 or 12
    return f"half past {hour}" if halves % 2 else f"{hour} o'clock"


def shown(text: str, *, asked: bool, solution: bool, ink: Ink = Ink.LINE) -> tuple[str, Ink]:
    """Return what a figure writes at a value: itself, "?" where asked, or the solution."""
    if not asked:
        return text, ink
    return (text, Ink.SOLUTION) if solution else ("?", Ink.ACCENT)


def plain(value: float, decimals: int = 1) -> str:
    """Write a number with at most so many decimals and a true minus sign.

    >>> plain(12.0), plain(-3.25, 2), plain(0.04)
    ('12', '−3.25', '0')
    """
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", "0"} else text.replace("-", "−")


def dimension(
    start: Point, end: Point, text: str, ink: Ink = Ink.LINE, *, name: str = "dimension"
) -> list[Shape]:
    """Return a dimension line with a head at each end and its value on the line.

    Between ends too close for the word, the heads point inwards from outside and the word
    stands beyond the end.
    """
    (x0, y0), (x1, y1) = start, end
    length = hypot(x1 - x0, y1 - y0) or 1.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    style = Style(Ink.FAINT if ink is Ink.LINE else ink, weight=Weight.THIN)
    wide = text_width(text, TEXT, bold=True)
    room = wide * abs(ux) + TEXT * abs(uy) + 30
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    if length >= room:
        arrows = [Arrow(middle, start, style), Arrow(middle, end, style)]
        at = (middle[0], middle[1] + 6)
    else:
        outside = ((x0 - 20 * ux, y0 - 20 * uy), (x1 + 20 * ux, y1 + 20 * uy))
        arrows = [Arrow(outside[0], start, style), Arrow(outside[1], end, style)]
        gap = 26 + (wide / 2) * abs(ux) + 8 * abs(uy)
        at = (x1 + gap * ux, y1 + gap * uy + 6)
    word = [Label(at, text, ink=ink, bold=True, halo=True, name=name)] if text else []
    return [*arrows, *word]


def angle_mark(
    centre: Point,
    radius: float,
    start_deg: float,
    sweep_deg: float,
    text: str,
    ink: Ink = Ink.LINE,
    *,
    name: str = "angle",
) -> list[Shape]:
    """Return an angle: an arc between two directions, its value outside the middle of it."""
    style = Style(Ink.FAINT if ink is Ink.LINE else ink, weight=Weight.THIN)
    middle = start_deg + sweep_deg / 2
    half = text_width(text, TEXT, bold=True) / 2
    turn = radians(middle)
    reach = radius + 8 + half * abs(sin(turn)) + 8 * abs(cos(turn))
    x, y = at_clock(centre, reach, middle)
    return [
        Arc(centre, radius, start_deg, sweep_deg, style, name=name),
        Label((x, y + 6), text, ink=ink, bold=True, halo=True, name=name + " value"),
    ]
