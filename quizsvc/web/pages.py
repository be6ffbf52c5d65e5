"""What every template may use: addresses of static files, figures, pictures and words."""

from __future__ import annotations

from functools import cache
from hashlib import blake2b
from pathlib import Path

from flask import Flask, g, render_template, request, url_for
from markupsafe import Markup

from quizsvc.figures.scene import Scene
from quizsvc.figures.svg import render_svg
from quizsvc.web import access, navigation, words
from quizsvc.web.standing import draw_standing

STATIC = Path(__file__).parent / "static"
FILTERS = (
    words.choices,
    words.figures,
    words.moment,
    words.parts,
    words.percent,
    words.plain,
    words.prompt,
    words.quantity,
    words.reasons,
    words.sentence,
    words.slug,
    words.step_value,
    words.topic_title,
    words.unbroken,
    words.verdict_word,
)


def init_app(app: Flask) -> None:
    # Functions, not values: a page that does not ask who is signed in costs no look-up.
    app.jinja_env.globals.update(
        signed_in=access.actor_or_none,
        ways=navigation.ways_for,
        duties=navigation.duties_for,
        asset=asset,
        style_links=style_links,
        draw_figure=draw_figure,
        draw_standing=draw_standing,
        letter=words.letter,
    )
    app.jinja_env.filters.update({filter_.__name__: filter_ for filter_ in FILTERS})
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True


def asset(name: str) -> str:
    """Return the address of a static file; it changes when the file does."""
    return _asset(request.script_root, name)


@cache
def _asset(_root: str, name: str) -> str:
    """Build the address once per place the application is served under: pages hold many."""
    digest = blake2b((STATIC / name).read_bytes(), digest_size=6).hexdigest()
    return url_for("static", filename=name, v=digest)


def style_links() -> Markup:
    """Return the links to all style sheets."""
    return _style_links(request.script_root)


@cache
def _style_links(_root: str) -> Markup:
    return Markup(render_template("_styles.html"))  # noqa: S704 - our own template


def draw_figure(scene: Scene, *, decorative: bool = False) -> Markup:
    """Return the scene as inline SVG, ids unlike those of any other figure on the page."""
    g.figures = getattr(g, "figures", 0) + 1
    drawn = render_svg(scene, id_prefix=f"f{g.figures}", decorative=decorative)
    return Markup(drawn)  # noqa: S704 - the renderer escapes every word it is given
