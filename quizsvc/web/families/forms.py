"""From the address of a family's page to what is dealt."""

from __future__ import annotations

from enum import StrEnum
from typing import TypeVar

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import Kind, Level
from quizsvc.services.families import Dealt
from quizsvc.web.whole_numbers import whole_or_none

Fields = MultiDict[str, str]
LONGEST = 60
Sort = TypeVar("Sort", bound=StrEnum)


def dealt_in(fields: Fields) -> Dealt:
    """Return what is asked for.

    Raises:
        InputError: the seed is no whole number, or there is no such level or kind.
    """
    return Dealt(
        sheet_id=fields.get("sheet", "")[:LONGEST],
        first_seed=_seed(fields.get("from", "1")),
        level=_one_of(Level, fields.get("level", ""), "level"),
        kind=_one_of(Kind, fields.get("kind", ""), "kind"),
    )


def _seed(text: str) -> int:
    seed = whole_or_none(text)
    if seed is None:
        raise InputError(
            "samples are numbered by whole numbers.",
            field="from",
            value=text[:LONGEST],
            remedy="Give a number from 1 on.",
        )
    return seed


def _one_of(kinds: type[Sort], text: str, field: str) -> Sort | None:
    try:
        return kinds(text) if text else None
    except ValueError:
        raise InputError(
            f"there is no such {field}.",
            field=field,
            value=text[:LONGEST],
            remedy=f"Choose one of: {', '.join(kinds)}.",
        ) from None
