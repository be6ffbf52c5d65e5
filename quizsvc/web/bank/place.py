"""The blueprint of hand-written items, and who may send it large files."""

from __future__ import annotations

from dataclasses import asdict

from flask import Blueprint, request
from werkzeug.datastructures import MultiDict

from quizsvc.figures.scene import Scene
from quizsvc.rules.permissions import May, allows
from quizsvc.services import pictures as picture_service
from quizsvc.services import search_items
from quizsvc.services.shown import OpenItem
from quizsvc.web.access import actor, actor_or_none
from quizsvc.web.bank import words
from quizsvc.web.current import house
from quizsvc.web.practise.places import letters_over

LARGEST_BANK, LARGEST_PICTURE = 34_000_000, 16_000_000  # bytes of a request
_LARGE = {"bank.check_import": LARGEST_BANK, "bank.keep_picture": LARGEST_PICTURE}

bank = Blueprint("bank", __name__, url_prefix="/bank")
bank.add_app_template_filter(words.deed_words)
bank.add_app_template_filter(words.field_words)
bank.add_app_template_global(MultiDict, "no_fields")


@bank.app_template_global()
def letters_on(item: OpenItem) -> Scene | None:
    """Return the letters over the picture of an item whose places are pointed at."""
    if not (item.picture and item.places):
        return None
    content = picture_service.picture_for_author(house(), actor(), item.picture)
    return letters_over(content, item.places)


@bank.app_template_global()
def asked(query: search_items.Query) -> dict[str, str]:
    """Return what a search asked for, to be asked for again on another page."""
    said = asdict(query).items()
    return {name: value for name, value in said if value and name != "page"}


@bank.url_value_preprocessor
def allow_large_files(_endpoint: str | None, _values: object) -> None:
    """Let authors, and nobody else, send more than a form; before anything reads the form."""
    person = actor_or_none() if request.endpoint in _LARGE else None
    if person is not None and allows(person, May.WRITE_ITEMS):
        request.max_content_length = _LARGE[request.endpoint or ""]
