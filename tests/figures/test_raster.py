"""The raster renderer draws what the scene says, smooth, small and without metadata."""

from io import BytesIO

import pytest
from PIL import Image

from quizsvc.figures.palette import LIGHT, PRINT, channels
from quizsvc.figures.raster import COLOURS, render_png
from quizsvc.figures.scene import (
    Arc,
    Arrow,
    Circle,
    Circles,
    Dash,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Style,
    Weight,
)

THICK = Style(Ink.LINE, weight=Weight.THICK)


def drawn(*shapes, scale=1.0, **options) -> Image.Image:
    png = render_png(Scene(100, 80, shapes, "x"), scale, **options)
    return Image.open(BytesIO(png)).convert("RGB")


def inked(picture: Image.Image, at) -> bool:
    """Whether a pixel is nearer to the line's ink than to the paper."""
    pixel = picture.getpixel(at)
    line, paper = channels(LIGHT[Ink.LINE]), channels(LIGHT[Ink.PAPER])
    return sum(map(abs, map(int.__sub__, pixel, line))) < sum(
        map(abs, map(int.__sub__, pixel, paper))
    )


def test_the_picture_has_the_scaled_size_and_few_colours():
    png = render_png(Scene(100, 80, (Circle((50, 40), 20),), "x"), 2.0)

    picture = Image.open(BytesIO(png))

    assert picture.size == (200, 160)
    assert picture.mode == "P"
    assert len(picture.getcolors()) <= COLOURS


def test_no_words_travel_in_the_file():
    png = render_png(Scene(100, 80, (), "the answer is 12"))

    assert b"answer" not in png
    assert Image.open(BytesIO(png)).info.keys() <= {"transparency"}


def test_an_empty_scene_is_paper():
    assert drawn().getcolors() == [(8000, channels(LIGHT[Ink.PAPER]))]


def test_print_has_white_paper():
    assert drawn(palette=PRINT).getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("shape", "on", "off"),
    [
        (Polyline(((10, 40), (90, 40)), THICK), (50, 40), (50, 50)),
        (Polyline(((10, 10), (90, 10), (90, 70)), THICK, closed=True), (50, 40), (70, 20)),
        (Circle((50, 40), 20, THICK), (70, 40), (50, 40)),
        (Circles(((20, 40), (80, 40)), 6, Style(Ink.NONE, Ink.LINE)), (80, 40), (50, 40)),
        (Lines((((10, 20), (90, 20)), ((10, 60), (90, 60))), THICK), (50, 60), (50, 40)),
        (Arc((50, 40), 30, 0, 120, THICK), (80, 40), (20, 40)),
        (Arc((50, 40), 30, 0, -120, THICK), (20, 40), (80, 40)),
        (Arrow((10, 40), (90, 40), THICK), (85, 40), (85, 48)),
        (Polyline(((10, 10), (90, 10), (50, 70)), Style(Ink.NONE, Ink.LINE), closed=True),
         (50, 30), (10, 60)),
    ],
)  # fmt: skip
def test_each_kind_of_shape_is_drawn_where_it_stands(shape, on, off):
    picture = drawn(shape)

    assert inked(picture, on)
    assert not inked(picture, off)


def test_dashes_leave_gaps():
    dashed = Style(Ink.LINE, weight=Weight.THICK, dash=Dash.DASHED)

    row = [inked(drawn(Polyline(((0, 40), (100, 40)), dashed)), (x, 40)) for x in range(100)]

    assert 0.4 < sum(row) / 100 < 0.8


def test_words_are_drawn_with_the_shipped_typeface():
    picture = drawn(Label((50, 48), "TDC", 30, bold=True))

    ink = sum(inked(picture, (x, y)) for x in range(100) for y in range(80))

    assert 300 < ink < 1500


def test_edges_are_smooth():
    picture = drawn(Polyline(((10, 10), (90, 71)), THICK))

    assert len(picture.getcolors()) > 3
