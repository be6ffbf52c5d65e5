"""A scene as a PNG picture, for print and for whoever wants a plain image.

Drawn twice as large and halved, which smooths every edge at once, then brought to one fixed
64-colour palette: a palette fitted to each picture costs 1.5 to 11 ms, the fixed one 0.3 ms,
and a line drawing has no other colours than its inks and what lies between them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from io import BytesIO
from itertools import pairwise
from math import ceil, floor, hypot
from typing import Any

from PIL import Image, ImageDraw

from quizsvc.figures.lettering import font
from quizsvc.figures.palette import LIGHT, Palette, channels
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
    Scene,
    Style,
    at_clock,
)
from quizsvc.figures.svg import DASHES, WIDTHS, arrow_head

OVERSAMPLING = 2
COLOURS = 64
LEVEL = 6
RUN_LENGTHS = 3  # zlib's strategy for long runs of one colour: 17 % larger, 1.4 ms (60 %) faster
HALO = 2.5  # picture units of paper around letters
PIXEL = 0.5  # Pillow counts from the middle of a pixel, pictures from its edge


def render_png(scene: Scene, scale: float = 1.0, *, palette: Palette = LIGHT) -> bytes:
    """Return the scene as PNG bytes, ``scale`` pixels to one picture unit."""
    factor = scale * OVERSAMPLING
    size = (round(scene.width * scale), round(scene.height * scale))
    sheet = Image.new("RGB", (size[0] * OVERSAMPLING, size[1] * OVERSAMPLING), palette[Ink.PAPER])
    pen = _Pen(ImageDraw.Draw(sheet), factor, palette)
    for shape in scene.shapes:
        _DRAWERS[type(shape)](pen, shape)
    small = sheet.reduce(OVERSAMPLING)
    flat = small.quantize(palette=_fixed_palette(_key(palette)), dither=Image.Dither.NONE)
    written = BytesIO()
    flat.save(written, "PNG", compress_level=LEVEL, compress_type=RUN_LENGTHS)
    return written.getvalue()


class _Pen:
    """Where and how large to draw, and in which colours."""

    __slots__ = ("draw", "factor", "palette")

    def __init__(self, draw: ImageDraw.ImageDraw, factor: float, palette: Palette) -> None:
        self.draw = draw
        self.factor = factor
        self.palette = palette

    def colour(self, ink: Ink) -> str | None:
        return None if ink is Ink.NONE else self.palette[ink]

    def width(self, style: Style) -> int:
        return max(1, round(WIDTHS[style.weight] * self.factor))

    def points(self, points: tuple[Point, ...]) -> list[Point]:
        factor = self.factor
        return [(x * factor - PIXEL, y * factor - PIXEL) for x, y in points]


def _key(palette: Palette) -> tuple[str, ...]:
    return tuple(palette[ink] for ink in Ink if ink is not Ink.NONE)


@lru_cache(maxsize=8)
def _fixed_palette(colours: tuple[str, ...]) -> Image.Image:
    """Return a palette picture: every ink, and steps from every line ink to every ground."""
    inks = dict(zip((ink for ink in Ink if ink is not Ink.NONE), colours, strict=True))
    grounds = [channels(inks[ink]) for ink in (Ink.PAPER, Ink.METAL, Ink.SHADE)]
    lines = dict.fromkeys(
        channels(inks[ink])
        for ink in (Ink.LINE, Ink.FAINT, Ink.ACCENT, Ink.COOL, Ink.SOLUTION, Ink.WARM, Ink.MARK)
    )
    steps = dict.fromkeys([*grounds, *lines])
    for ground, parts in zip(grounds, (5, 4, 3), strict=True):
        for line in lines:
            for part in range(1, parts):
                steps[_mixed(line, ground, part / parts)] = None
    flat = [channel for colour in list(steps)[:COLOURS] for channel in colour]
    picture = Image.new("P", (1, 1))
    picture.putpalette(flat)
    return picture


def _mixed(
    one: tuple[int, int, int], other: tuple[int, int, int], part: float
) -> tuple[int, int, int]:
    red, green, blue = (round(a + part * (b - a)) for a, b in zip(one, other, strict=True))
    return red, green, blue


def _polyline(pen: _Pen, shape: Polyline) -> None:
    points, style = pen.points(shape.points), shape.style
    if style.fill is not Ink.NONE:
        pen.draw.polygon(points, fill=pen.colour(style.fill))
    if style.stroke is not Ink.NONE:
        _stroke(pen, [*points, points[0]] if shape.closed else points, style)


def _stroke(pen: _Pen, points: list[Point], style: Style) -> None:
    colour, width = pen.colour(style.stroke), pen.width(style)
    if style.dash is not Dash.SOLID:
        for piece in _dashed(points, [part * pen.factor for part in DASHES[style.dash]]):
            pen.draw.line(piece, fill=colour, width=width)
        return
    # Joints show as notches from about four pixels on; below, rounding them only takes time.
    pen.draw.line(points, fill=colour, width=width, joint="curve" if width > 3 else None)


def _dashed(points: list[Point], pattern: list[float]) -> list[list[Point]]:
    """Cut a polyline into the dashes of a pattern (dash, gap, dash, gap …)."""
    pieces: list[list[Point]] = []
    part, left, drawing = 0, pattern[0], True
    current = [points[0]]
    for (x0, y0), (x1, y1) in pairwise(points):
        length = hypot(x1 - x0, y1 - y0)
        gone = 0.0
        while length - gone > left:
            gone += left
            share = gone / length
            turn = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
            if drawing:
                pieces.append([*current, turn])
            current, drawing = [turn], not drawing
            part = (part + 1) % len(pattern)
            left = pattern[part]
        left -= length - gone
        current.append((x1, y1))
    return [*pieces, current] if drawing and len(current) > 1 else pieces


def _circle(pen: _Pen, shape: Circle) -> None:
    if shape.style.dash is not Dash.SOLID:
        _arc(pen, Arc(shape.centre, shape.radius, 0, 360, shape.style))
        return
    _rounds(pen, (shape.centre,), shape.radius, shape.style)


def _circles(pen: _Pen, shape: Circles) -> None:
    _rounds(pen, shape.centres, shape.radius, shape.style)


def _rounds(pen: _Pen, centres: tuple[Point, ...], radius: float, style: Style) -> None:
    stroke, fill = pen.colour(style.stroke), pen.colour(style.fill)
    width = 0 if stroke is None else pen.width(style)
    factor = pen.factor
    # Pillow strokes inwards; a drawing's stroke lies half on either side of the edge.
    reach = radius * factor + width / 2 - 0.5
    for x, y in centres:
        cx, cy = x * factor - PIXEL, y * factor - PIXEL
        pen.draw.ellipse((cx - reach, cy - reach, cx + reach, cy + reach), fill, stroke, width)


def _lines(pen: _Pen, shape: Lines) -> None:
    style, factor = shape.style, pen.factor
    colour, width = pen.colour(style.stroke), pen.width(style)
    if style.dash is not Dash.SOLID:
        for stroke in shape.strokes:
            _stroke(pen, pen.points(stroke), style)
        return
    line = pen.draw.line
    for stroke in shape.strokes:
        line([(x * factor - PIXEL, y * factor - PIXEL) for x, y in stroke], colour, width)


def _arc(pen: _Pen, shape: Arc) -> None:
    style, factor = shape.style, pen.factor
    if style.dash is Dash.SOLID and style.fill is Ink.NONE:
        width = pen.width(style)
        reach = shape.radius * factor + width / 2 - 0.5
        x, y = shape.centre[0] * factor - PIXEL, shape.centre[1] * factor - PIXEL
        first = shape.start_deg + min(0.0, shape.sweep_deg) - 90  # Pillow counts from the right
        box = (x - reach, y - reach, x + reach, y + reach)
        pen.draw.arc(box, first, first + abs(shape.sweep_deg), pen.colour(style.stroke), width)
        return
    steps = max(2, round(abs(shape.sweep_deg) / 360 * 10 * (shape.radius * factor) ** 0.5))
    turn = shape.sweep_deg / steps
    points = tuple(
        at_clock(shape.centre, shape.radius, shape.start_deg + turn * step)
        for step in range(steps + 1)
    )
    _polyline(pen, Polyline(points, style))


def _arrow(pen: _Pen, shape: Arrow) -> None:
    head = arrow_head(shape.start, shape.end)
    foot = ((head[1][0] + head[2][0]) / 2, (head[1][1] + head[2][1]) / 2)
    _stroke(pen, pen.points((shape.start, foot)), shape.style)
    pen.draw.polygon(pen.points(head), fill=pen.colour(shape.style.stroke))


def _label(pen: _Pen, shape: Label) -> None:
    """Print a word with its stencil; words and numbers come back in figure after figure."""
    factor = pen.factor
    pixels = round(shape.size * factor)
    stencil, left, top, width = _stencil(shape.text, pixels, shape.bold, 0)
    before = {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[shape.anchor]
    x, y = round(shape.at[0] * factor - before), round(shape.at[1] * factor)
    if shape.halo:
        ring, ring_left, ring_top, _ = _stencil(
            shape.text, pixels, shape.bold, round(HALO * factor)
        )
        pen.draw.bitmap((x + ring_left, y + ring_top), ring, pen.colour(Ink.PAPER))
    pen.draw.bitmap((x + left, y + top), stencil, pen.colour(shape.ink))


@lru_cache(maxsize=512)
def _stencil(
    text: str,
    pixels: int,
    bold: bool,  # noqa: FBT001 - part of a cache key
    halo: int,
) -> tuple[Image.Image, int, int, float]:
    """Return a word as a mask, where it hangs from its baseline point, and its width.

    At most some 10 kB each; a word from here takes a fifth of the time of drawing it anew.
    """
    face = font(pixels, bold=bold)
    left, top, right, bottom = face.getbbox(text, stroke_width=halo, anchor="ls")
    left, top = floor(left), floor(top)
    mask = Image.new("L", (max(1, ceil(right) - left), max(1, ceil(bottom) - top)))
    ImageDraw.Draw(mask).text((-left, -top), text, 255, face, anchor="ls", stroke_width=halo)
    return mask, left, top, face.getlength(text)


_DRAWERS: dict[type, Callable[[_Pen, Any], None]] = {
    Polyline: _polyline,
    Circle: _circle,
    Circles: _circles,
    Lines: _lines,
    Arc: _arc,
    Arrow: _arrow,
    Label: _label,
}
