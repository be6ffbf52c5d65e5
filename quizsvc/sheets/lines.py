"""In which line of a TOML text a value stands, so that an error can point there.

The TOML reader of the standard library keeps no lines, so the text is read once more for its
headings and keys only. Values that run over several lines are found by their first line.
"""

from __future__ import annotations

import re
from collections import defaultdict

from quizsvc.sheets.problems import Place

_HEADING = re.compile(r"^\s*(\[\[?)\s*([\w.\- \"']+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([\w.\-\"']+(?:\s*\.\s*[\w\-\"']+)*)\s*=")


def line_of(text: str, place: Place) -> int:
    r"""Return the line (from 1) of the value at ``place``, or of the nearest table around it.

    0 when nothing of it stands in the text.

    >>> line_of('id = "a"\n[[drives]]\npins = 3\n', ("drives", 0, "pins"))
    3
    >>> line_of('id = "a"\n[[drives]]\npins = 3\n', ("drives", 0, "title"))
    2
    """
    lines = _lines_by_place(text)
    for length in range(len(place), 0, -1):
        if place[:length] in lines:
            return lines[place[:length]]
    return 0


def _lines_by_place(text: str) -> dict[Place, int]:
    found: dict[Place, int] = {}
    counts: defaultdict[Place, int] = defaultdict(int)
    table: Place = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if heading := _HEADING.match(line):
            table = _table_place(heading[2], counts, is_list=heading[1] == "[[")
            found.setdefault(table, number)
            if isinstance(table[-1], int):
                found.setdefault(table[:-1], number)  # the list as a whole begins here
        elif key := _KEY.match(line):
            found.setdefault(table + _parts(key[1]), number)
    return found


def _table_place(name: str, counts: defaultdict[Place, int], *, is_list: bool) -> Place:
    place: Place = ()
    parts = _parts(name)
    for i, part in enumerate(parts):
        place = (*place, part)
        if is_list and i == len(parts) - 1:
            counts[place] += 1
        if counts.get(place):  # inside a list the latest member is meant
            place = (*place, counts[place] - 1)
    return place


def _parts(name: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in name.split("."))
