"""The small picture of a standing: a chance with its interval, drawn as a dimension line."""

from __future__ import annotations

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
    drawn = render_svg(standing_scene(standing), id_prefix="s", decorative=True)
    return Markup(drawn)  # noqa: S704 - made of numbers only


def standing_scene(standing: TopicStanding) -> Scene:
    shapes = (*_scale(standing.chance is not None), *_interval(standing))
    return Scene(WIDTH, HEIGHT, shapes, alt="")


def _scale(known: bool) -> tuple[Shape, ...]:  # noqa: FBT001 - one private caller
    dash = Dash.SOLID if known else Dash.DASHED
    line = Style(stroke=Ink.FAINT, weight=Weight.THIN, dash=dash)
    ticks = [
        _upright(_at(share), LINE_Y + 4, LINE_Y + 9, THIN) for share in (0, 0.25, 0.5, 0.75, 1)
    ]
    return (Polyline(((_at(0), LINE_Y), (_at(1), LINE_Y)), line), *ticks)


def _interval(standing: TopicStanding) -> tuple[Shape, ...]:
    if standing.chance is None or standing.low is None or standing.high is None:
        return ()
    low, high = _at(standing.low), _at(standing.high)
    return (
        Polyline(((low, LINE_Y), (high, LINE_Y)), EDGE, name="interval"),
        _upright(low, LINE_Y - 6, LINE_Y + 6, EDGE),
        _upright(high, LINE_Y - 6, LINE_Y + 6, EDGE),
        Circle((_at(standing.chance), LINE_Y), 5.0, DOT, name="chance"),
    )


def _upright(x: float, top: float, bottom: float, style: Style) -> Polyline:
    return Polyline(((x, top), (x, bottom)), style)


def _at(share: float) -> float:
    return round(MARGIN + share * (WIDTH - 2 * MARGIN), 1)
