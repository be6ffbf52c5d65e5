"""A bank's text cut into its opening and one piece for each item, so that nothing is lost.

Put together again in order, the pieces are the text that was read, byte for byte. A piece begins
with the comments that stand directly above its ``[[items]]``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from quizsvc.items.banks.lines import Path

_HEADER = re.compile(r"\s*\[\[\s*[\"']?items[\"']?\s*\]\]")


@dataclass(frozen=True, slots=True)
class Pieces:
    head: str
    items: tuple[str, ...]


def cut(text: str, lines: Mapping[Path, int], count: int) -> Pieces | None:
    """Return the pieces, or None where the items are not written as ``[[items]]`` tables.

    ``lines`` are those of `quizsvc.items.banks.lines.line_numbers`, ``count`` the items there are.
    """
    rows = text.splitlines(keepends=True)
    starts = [lines.get(("items", place), 0) for place in range(count)]
    if not all(start and _HEADER.match(rows[start - 1]) for start in starts):
        return None
    starts = [_with_comments(rows, start - 1) for start in starts]
    ends = [*starts[1:], len(rows)]
    items = tuple("".join(rows[a:b]) for a, b in zip(starts, ends, strict=True))
    return Pieces("".join(rows[: starts[0]]), items)


def _with_comments(rows: list[str], start: int) -> int:
    while start > 0 and rows[start - 1].lstrip().startswith("#"):
        start -= 1
    return start
