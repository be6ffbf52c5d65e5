"""A scene as vector drawing in a PDF: the same shapes as on screen, sharp at any size."""

from __future__ import annotations

from functools import cache
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from quizsvc.figures.lettering import FONTS
from quizsvc.figures.palette import PRINT
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
)
from quizsvc.figures.svg import DASHES, WIDTHS, arrow_head

PLAIN, BOLD = "DejaVu", "DejaVu-Bold"


@cache
def embed_fonts() -> None:
    """Make the shipped typeface known, so that every sign prints on every machine."""
    pdfmetrics.registerFont(TTFont(PLAIN, FONTS / "DejaVuSans.ttf"))
    pdfmetrics.registerFont(TTFont(BOLD, FONTS / "DejaVuSans-Bold.ttf"))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


class Drawing(Flowable):
    """A scene in the flow of a page, scaled down to ``width`` points where it is wider."""

    def __init__(self, scene: Scene, width: float, height: float = 1e9) -> None:
        super().__init__()
        self.scene = scene
        self.scale = min(1.0, width / scene.width, height / scene.height)
        self.width, self.height = scene.width * self.scale, scene.height * self.scale
        self.hAlign = "LEFT"

    def draw(self) -> None:
        draw_scene(self.canv, self.scene, 0, self.height, self.scale)


def draw_scene(canvas: Canvas, scene: Scene, left: float, top: float, scale: float) -> None:
    """Draw ``scene`` with its upper left corner at (``left``, ``top``) in points."""
    embed_fonts()
    canvas.saveState()
    canvas.translate(left, top)
    canvas.scale(scale, scale)
    canvas.setLineJoin(1)
    canvas.setLineCap(1)
    for shape in scene.shapes:
        _DRAWERS[type(shape)](canvas, shape)
    canvas.restoreState()


def _flip(point: Point) -> Point:
    return point[0], -point[1]  # pictures count y down, pages up


def _paint(canvas: Canvas, style: Style) -> dict[str, int]:
    """Set colours and line; return which of stroke and fill to do."""
    if style.stroke is not Ink.NONE:
        canvas.setStrokeColor(HexColor(PRINT[style.stroke]))
        canvas.setLineWidth(WIDTHS[style.weight])
        canvas.setDash([] if style.dash is Dash.SOLID else list(DASHES[style.dash]))
    if style.fill is not Ink.NONE:
        canvas.setFillColor(HexColor(PRINT[style.fill]))
    return {"stroke": int(style.stroke is not Ink.NONE), "fill": int(style.fill is not Ink.NONE)}


def _trace(canvas: Canvas, points: tuple[Point, ...], *, closed: bool, **paint: int) -> None:
    path = canvas.beginPath()
    path.moveTo(*_flip(points[0]))
    for point in points[1:]:
        path.lineTo(*_flip(point))
    if closed:
        path.close()
    canvas.drawPath(path, **paint)


def _polyline(canvas: Canvas, shape: Polyline) -> None:
    _trace(canvas, shape.points, closed=shape.closed, **_paint(canvas, shape.style))


def _lines(canvas: Canvas, shape: Lines) -> None:
    paint = _paint(canvas, shape.style)
    for stroke in shape.strokes:
        _trace(canvas, stroke, closed=False, **paint)


def _circle(canvas: Canvas, shape: Circle) -> None:
    canvas.circle(*_flip(shape.centre), shape.radius, **_paint(canvas, shape.style))


def _circles(canvas: Canvas, shape: Circles) -> None:
    paint = _paint(canvas, shape.style)
    for centre in shape.centres:
        canvas.circle(*_flip(centre), shape.radius, **paint)


def _arc(canvas: Canvas, shape: Arc) -> None:
    paint = _paint(canvas, shape.style)
    (x, y), r = _flip(shape.centre), shape.radius
    path = canvas.beginPath()
    # Pages count angles anticlockwise from the right, pictures clockwise from straight up.
    start, sweep = 90 - shape.start_deg, -shape.sweep_deg
    path.arc(x - r, y - r, x + r, y + r, start, sweep)  # type: ignore[arg-type] # takes floats
    canvas.drawPath(path, **paint)


def _arrow(canvas: Canvas, shape: Arrow) -> None:
    _trace(canvas, (shape.start, shape.end), closed=False, **_paint(canvas, shape.style))
    head = Style(Ink.NONE, shape.style.stroke)
    _trace(canvas, arrow_head(shape.start, shape.end), closed=True, **_paint(canvas, head))


def _label(canvas: Canvas, shape: Label) -> None:
    x, y = _flip(shape.at)
    name = BOLD if shape.bold else PLAIN
    width = pdfmetrics.stringWidth(shape.text, name, shape.size)
    left = x - {Anchor.START: 0.0, Anchor.MIDDLE: width / 2, Anchor.END: width}[shape.anchor]
    if shape.halo:
        canvas.setFillColor(HexColor(PRINT[Ink.PAPER]))
        high, low = 0.76 * shape.size, 0.2 * shape.size
        canvas.rect(left - 1, y - low, width + 2, high + low, stroke=0, fill=1)
    canvas.setFillColor(HexColor(PRINT[shape.ink]))
    canvas.setFont(name, shape.size)
    canvas.drawString(left, y, shape.text)


_DRAWERS: dict[type, Any] = {
    Polyline: _polyline,
    Lines: _lines,
    Circle: _circle,
    Circles: _circles,
    Arc: _arc,
    Arrow: _arrow,
    Label: _label,
}
