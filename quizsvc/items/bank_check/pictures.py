"""Pictures that are not there, are not pictures, or have no text beside them."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from quizsvc.items.bank_check.words import right_texts, words_of
from quizsvc.items.banks.keys import Found, same_text
from quizsvc.items.banks.schema import AnyItem, ChoiceItem, PointItem

LARGEST_BYTES = 1024 * 1024
LARGEST_SIDE = 4000
FEWEST_ALT_WORDS = 6
_FORMATS = ("PNG", "JPEG", "WEBP")


def picture_faults(item: AnyItem, media: Path) -> Iterator[Found]:
    """Report what is wrong with the item's picture, which is looked for in ``media``."""
    if not item.picture:
        if item.picture_alt.strip():
            problem = "there is a text for a picture, but no picture."
            yield "picture", ("picture_alt",), "", problem, "Name the picture, or leave this out."
        return
    yield from _alternative(item)
    yield from _file(item, media / item.picture)


def _alternative(item: AnyItem) -> Iterator[Found]:
    count = len(words_of(item.picture_alt))
    if count < FEWEST_ALT_WORDS:
        problem = "the picture has no text that says what is seen."
        remedy = "Write picture_alt: what a person sees there, without the answer."
        yield "picture-text", ("picture",), item.picture, problem, remedy
    if isinstance(item, ChoiceItem | PointItem):
        for text in right_texts(item):
            if len(words_of(text)) > 1 and same_text(text) in same_text(item.picture_alt):
                problem = "the picture's text holds the right answer."
                yield "picture-text", ("picture_alt",), text, problem, "Say only what is seen."


def _file(item: AnyItem, path: Path) -> Iterator[Found]:
    where, name = ("picture",), item.picture
    if not path.is_file():
        remedy = "Put it there, or mend the name."
        yield "picture-file", where, name, f"there is no such file in {path.parent.name}/.", remedy
        return
    if path.stat().st_size > LARGEST_BYTES:
        remedy = "Save it smaller; a learner may be on a phone."
        yield "picture-file", where, name, "the file is larger than 1 MB.", remedy
    try:
        width, height = _size(path)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombWarning):
        remedy = "Save it as PNG, JPEG or WebP."
        yield "picture-file", where, name, "the file is no picture that can be read.", remedy
        return
    if max(width, height) > LARGEST_SIDE:
        problem = f"it is {width} × {height} pixels; {LARGEST_SIDE} are the most on a side."
        yield "picture-file", where, name, problem, "Save it smaller."
    yield from _places_outside(item, width, height)


def _size(path: Path) -> tuple[int, int]:
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(path, formats=_FORMATS) as picture:
            size = picture.size
            picture.verify()  # reads through the file without keeping its pixels
    return size


def _places_outside(item: AnyItem, width: int, height: int) -> Iterator[Found]:
    if not isinstance(item, PointItem):
        return
    for i, place in enumerate(item.places):
        if not (0 <= place.at[0] <= width and 0 <= place.at[1] <= height):
            problem = f"the place lies outside the picture of {width} × {height} pixels."
            remedy = "Give its centre in pixels of the picture as stored."
            yield "picture-file", ("places", i, "at"), place.name, problem, remedy
