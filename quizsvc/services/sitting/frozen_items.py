"""Items whole as shown, as text: what a sitting keeps so that a dispute can be settled years later.

Neither a change of a family, a sheet or a bank nor one of the program changes what was asked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

from pydantic import TypeAdapter

from quizsvc.errors import NotFoundError
from quizsvc.figures.svg import render_svg
from quizsvc.items.model import Figure, Item

_ITEM: TypeAdapter[Item] = TypeAdapter(Item)
_TYPES = {".png": "image/png", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".webp": "image/webp"}


@dataclass(frozen=True, slots=True)
class FrozenPicture:
    hash: str
    media_type: str
    content: bytes


@dataclass(frozen=True, slots=True)
class FrozenItem:
    """An item as text, its figures as SVG, and its photograph; ``hash`` covers all of it."""

    hash: str
    content: str
    figure: str | None
    solution: str | None
    picture: FrozenPicture | None


def freeze(item: Item, picture_of: Callable[[str], bytes]) -> FrozenItem:
    """Return the item as it is kept; draws its figures, so never inside a write transaction.

    ``picture_of`` gives the bytes of a picture by its file name.
    """
    words = replace(item, figure=None, solution_figure=None)
    content = _ITEM.dump_json(words, exclude={"figure", "solution_figure"}).decode()
    figure, solution = _drawn(item.figure), _drawn(item.solution_figure or item.figure)
    picture = _picture(item.picture, picture_of) if item.picture else None
    parts = (content, figure or "", solution or "", picture.hash if picture else "")
    return FrozenItem(
        sha256("\x1f".join(parts).encode()).hexdigest(), content, figure, solution, picture
    )


def thaw(content: str) -> Item:
    """Return the item that was kept, without its figures: those are kept drawn."""
    return _ITEM.validate_json(content)


def _drawn(figure: Figure | None) -> str | None:
    return render_svg(figure()) if figure is not None else None


def _picture(name: str, picture_of: Callable[[str], bytes]) -> FrozenPicture:
    kind = Path(name).suffix
    try:
        content = picture_of(name) if kind in _TYPES else None
    except NotFoundError:
        content = None
    if content is None:
        raise NotFoundError(
            "the picture of a question is missing.",
            field="picture",
            value=name,
            remedy="Put it back into media/, or take the question out.",
        )
    return FrozenPicture(sha256(content).hexdigest(), _TYPES[kind], content)
