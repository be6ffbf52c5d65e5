"""The lettered places of a point item, drawn on its figure."""

from __future__ import annotations

from dataclasses import replace

from quizsvc.figures.scene import Circle, Ink, Label, Scene, Shape, Style
from quizsvc.services.shown import Place

RADIUS, SIZE = 13.0, 16.0
PLATE = Style(stroke=Ink.LINE, fill=Ink.PAPER)
# A capital stands on its baseline; two fifths of its size below the middle centres it.
DROP = 0.36 * SIZE


def lettered(scene: Scene, places: tuple[Place, ...]) -> Scene:
    """Return the scene with a letter on each place, in the order of the list beside it."""
    return replace(scene, shapes=scene.shapes + tuple(s for p in places for s in _plate(p)))


def _plate(place: Place) -> tuple[Shape, ...]:
    letter = chr(ord("A") + place.number - 1)
    at = (place.x, place.y + DROP)
    return (
        Circle((place.x, place.y), RADIUS, PLATE, name=f"place {letter}"),
        Label(at, letter, size=SIZE, bold=True),
    )
