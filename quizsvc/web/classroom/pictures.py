"""Letters over the places of a point question whose figure or picture is kept as it was."""

from __future__ import annotations

import re
from io import BytesIO

from PIL import Image

from quizsvc.figures.scene import Scene
from quizsvc.services.shown import Place
from quizsvc.web.practise.places import lettered, plates

_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


def letters_over_drawing(drawing: str, places: tuple[Place, ...]) -> Scene:
    """Return a scene of letters only, of the size of the drawing."""
    found = _BOX.search(drawing)
    if found is None:
        raise ValueError("a kept drawing has no size")
    return lettered(Scene(float(found[1]), float(found[2]), (), alt=""), places)


def letters_over_picture(content: bytes, places: tuple[Place, ...]) -> Scene:
    with Image.open(BytesIO(content)) as opened:
        width, height = opened.size
    return plates(width, height, places)
