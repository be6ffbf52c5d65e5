"""The small picture of a standing: a chance with its interval, drawn as a dimension line."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup

from quizsvc.figures.scene import Circle, Dash, Ink, Polyline, Scene, Shape, Style, Weight
from quizsvc.figures.svg import render_svg
from quizsvc.services.shown import TopicStanding

WIDTH, HEIGHT, MARGIN = 240.0, 26.0, 6.0
LINE_Y = 15.0
THIN = Style(stroke=Ink.FAINT, weight=Weight.THIN)
EDGE = Style(stroke=Ink.LINE, weight=Weight.MEDIUM)
DOT = Style(stroke=Ink.ACCENT, fill=Ink.ACCENT, weight=Weight.THIN)


def draw_standing(standing: TopicStanding) -> Markup:
    """Return the picture as inline SVG; decorative, since the words say the same beside it."""
    return _drawn(*_to_the_pixel(standing))


def standing_scene(standing: TopicStanding) -> Scene:
    return _scene(standing.chance, standing.low, standing.high)


@lru_cache(maxsize=4000)
def _drawn(chance: float | None, low: float | None, high: float | None) -> Markup:
    """Draw each picture once: a page shows a dozen, and hundreds of people have the same."""
    drawn = render_svg(_scene(chance, low, high), decorative=True)
    return Markup(drawn)  # noqa: S704 - made of numbers only


def _to_the_pixel(standing: TopicStanding) -> tuple[float | None, ...]:
    shares = (standing.chance, standing.low, standing.high)
    return tuple(None if share is None else round(share, 2) for share in shares)


def _scene(chance: float | None, low: float | None, high: float | None) -> Scene:
    shapes = (*_scale(known=chance is not None), *_interval(chance, low, high))
    return Scene(WIDTH, HEIGHT, shapes, alt="")


def _scale(*, known: bool) -> tuple[Shape, ...]:
    dash = Dash.SOLID if known else Dash.DASHED
    line = Style(stroke=Ink.FAINT, weight=Weight.THIN, dash=dash)
    ticks = [
        _upright(_at(share), LINE_Y + 4, LINE_Y + 9, THIN) for share in (0, 0.25, 0.5, 0.75, 1)
    ]
    return (Polyline(((_at(0), LINE_Y), (_at(1), LINE_Y)), line), *ticks)


def _interval(chance: float | None, least: float | None, most: float | None) -> tuple[Shape, ...]:
    if chance is None or least is None or most is None:
        return ()
    low, high = _at(least), _at(most)
    return (
        Polyline(((low, LINE_Y), (high, LINE_Y)), EDGE, name="interval"),
        _upright(low, LINE_Y - 6, LINE_Y + 6, EDGE),
        _upright(high, LINE_Y - 6, LINE_Y + 6, EDGE),
        Circle((_at(chance), LINE_Y), 5.0, DOT, name="chance"),
    )


def _upright(x: float, top: float, bottom: float, style: Style) -> Polyline:
    return Polyline(((x, top), (x, bottom)), style)


def _at(share: float) -> float:
    return round(MARGIN + share * (WIDTH - 2 * MARGIN), 1)
