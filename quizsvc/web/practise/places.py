"""The lettered places of a point item, on its figure or over its picture."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

from PIL import Image

from quizsvc.figures.scene import Circle, Ink, Label, Scene, Shape, Style
from quizsvc.services.shown import Place
from quizsvc.web.words import letter

RADIUS, SIZE = 13.0, 16.0  # on a figure about as wide as a phone's screen
NATURAL_WIDTH = 480.0
PLATE = Style(stroke=Ink.LINE, fill=Ink.PAPER)
DROP = 0.36  # of the letter's size, from the middle of a capital down to its baseline


def lettered(scene: Scene, places: tuple[Place, ...]) -> Scene:
    """Return the scene with a letter on each place, in the order of the list beside it.

    A figure whose places are named by their letters has drawn them itself.
    """
    if all(place.name == letter(place.number) for place in places):
        return scene
    return replace(scene, shapes=scene.shapes + _plates(places, 1.0))


def letters_over(picture: bytes, places: tuple[Place, ...]) -> Scene:
    """Return a scene of letters only, to lie over a picture of the same proportions.

    Reads no more of the picture than its size.
    """
    with Image.open(BytesIO(picture)) as opened:
        width, height = opened.size
    return plates(width, height, places)


def plates(width: float, height: float, places: tuple[Place, ...]) -> Scene:
    """Return a scene of letters only, to lie over a picture of this size."""
    return Scene(width, height, _plates(places, max(1.0, width / NATURAL_WIDTH)), alt="")


def _plates(places: tuple[Place, ...], scale: float) -> tuple[Shape, ...]:
    return tuple(shape for place in places for shape in _plate(place, scale))


def _plate(place: Place, scale: float) -> tuple[Shape, ...]:
    size = SIZE * scale
    sign = letter(place.number)
    return (
        Circle((place.x, place.y), RADIUS * scale, PLATE, name=f"place {sign}"),
        Label((place.x, place.y + DROP * size), sign, size=size, bold=True),
    )
