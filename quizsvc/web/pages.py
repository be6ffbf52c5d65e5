"""What every template may use: figures, standing pictures, and numbers and times in words."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from hashlib import blake2b
from pathlib import Path

from flask import Flask, g, url_for
from markupsafe import Markup

from quizsvc.figures.scene import Scene
from quizsvc.figures.svg import render_svg
from quizsvc.web import access, navigation
from quizsvc.web.standing import draw_standing

STATIC = Path(__file__).parent / "static"
UNITS_WITHOUT_GAP = {"", "°", "%"}
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def init_app(app: Flask) -> None:
    app.context_processor(_names)
    app.jinja_env.globals.update(
        asset=asset, draw_figure=draw_figure, draw_standing=draw_standing, letter=letter
    )
    app.jinja_env.filters.update(
        percent=percent, moment=moment, shown=shown_value, unit=unit, sentence=sentence
    )
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True


def _names() -> dict[str, object]:
    """Functions, not values: a page that shows no navigation asks nobody who is signed in."""
    return {
        "signed_in": access.actor_or_none,
        "ways": lambda: navigation.ways_for(access.actor_or_none()),
    }


def asset(name: str) -> str:
    """Return the address of a static file; it changes when the file does."""
    return url_for("static", filename=name, v=_print_of(name))


@cache
def _print_of(name: str) -> str:
    return blake2b((STATIC / name).read_bytes(), digest_size=6).hexdigest()


def draw_figure(scene: Scene, *, decorative: bool = False) -> Markup:
    """Return the scene as inline SVG, ids unlike those of any other figure on the page."""
    g.figures = getattr(g, "figures", 0) + 1
    drawn = render_svg(scene, id_prefix=f"f{g.figures}", decorative=decorative)
    return Markup(drawn)  # noqa: S704 - the renderer escapes every word it is given


def letter(number: int) -> str:
    """Return the letter of a position counted from 1."""
    return LETTERS[number - 1]


def percent(share: float) -> str:
    return f"{round(100 * share)}\N{NO-BREAK SPACE}%"


def moment(when: datetime) -> str:
    return f"{when.day} {when:%B %Y}, {when:%H:%M} UTC"


def sentence(words: str) -> str:
    """Return the words with a capital to begin with; errors are worded to follow a colon."""
    return words[:1].upper() + words[1:]


def unit(words: str) -> str:
    """Return a unit as it follows its number: degrees and percent close up, others apart."""
    return words if words in UNITS_WITHOUT_GAP else f"\N{NO-BREAK SPACE}{words}"


def shown_value(value: object) -> str:
    """Return a value of a worked step as people write it: true minus, no stray zeros."""
    if isinstance(value, float):
        return f"{value:.10g}".replace("-", "−")
    if isinstance(value, tuple):
        return ", ".join(shown_value(part) for part in value)
    return str(value).replace("-", "−") if isinstance(value, int) else str(value)
