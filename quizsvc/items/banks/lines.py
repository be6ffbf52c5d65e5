"""Where each value of a TOML text stands: a path such as ``("items", 3, "topic")`` to a line.

`tomllib` reads values but forgets their lines. The scan here reads only as much of the grammar
as lines need: table headers, keys, strings, brackets and commas. It expects a text that
`tomllib` has accepted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{1,2}(?!"))?'
    r"|'''.*?'''(?:'{1,2}(?!'))?"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|[\[\]{},=\n]"
    r"|[^\S\n]+"
    r"""|[^\s"'#\[\]{},=]+""",
    re.DOTALL,
)
_HEADER = re.compile(r"[^\S\n]*(\[\[?)([^\[\]\n]+)\]\]?")
_KEY = re.compile(r"[^\S\n]*([^=\n#\[\]]+?)[^\S\n]*=")


@dataclass(slots=True)
class _Scan:
    text: str
    lines: dict[Path, int] = field(default_factory=dict)
    counts: dict[Path, int] = field(default_factory=dict)
    table: Path = ()
    line: int = 1


def line_numbers(text: str) -> Mapping[Path, int]:
    """Return the line (from 1) of every table, key and array element of a valid TOML text."""
    scan = _Scan(text)
    scan.lines[()] = 1
    position = 0
    while position < len(text):
        position = _statement(scan, position)
    return scan.lines


def line_of(lines: Mapping[Path, int], path: Path) -> int:
    """Return the line of the path, or of the nearest thing that holds it."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def _statement(scan: _Scan, position: int) -> int:
    header = _HEADER.match(scan.text, position)
    if header:
        _enter_table(scan, _names(header[2]), many=header[1] == "[[")
        return _rest_of_value(scan, header.end(), None)
    key = _KEY.match(scan.text, position)
    if key:
        path = (*scan.table, *_names(key[1]))
        scan.lines[path] = scan.line
        return _rest_of_value(scan, key.end(), path)
    return _rest_of_value(scan, position, None)


def _names(dotted: str) -> list[str]:
    return [name.strip().strip("\"'") for name in dotted.split(".")]


def _enter_table(scan: _Scan, names: list[str], *, many: bool) -> None:
    path: Path = ()
    for name in names[:-1]:
        path = (*path, name)
        if path in scan.counts:
            path = (*path, scan.counts[path])
    path = (*path, names[-1])
    if many:
        scan.counts[path] = scan.counts.get(path, -1) + 1
        scan.lines.setdefault(path, scan.line)
        path = (*path, scan.counts[path])
    scan.table = path
    scan.lines[path] = scan.line


def _rest_of_value(scan: _Scan, position: int, path: Path | None) -> int:
    """Go on to the start of the next statement, noting array elements on the way."""
    depth, index, awaited = 0, 0, False
    for part in _tokens(scan.text, position):
        position += len(part)
        if part == "\n":
            scan.line += 1
            if depth == 0:
                break
            continue
        if part.isspace() or part.startswith("#"):
            continue
        if awaited and part != "]" and path is not None:
            scan.lines[(*path, index)] = scan.line
            index, awaited = index + 1, False
        if part in "[{":
            depth += 1
            awaited = awaited or (depth == 1 and part == "[")
        elif part in "]}":
            depth -= 1
        elif part == "," and depth == 1:
            awaited = True
        scan.line += part.count("\n")
    return position


def _tokens(text: str, position: int) -> Iterator[str]:
    while position < len(text):
        found = _TOKEN.match(text, position)
        token = found[0] if found else text[position]
        yield token
        position += len(token)
