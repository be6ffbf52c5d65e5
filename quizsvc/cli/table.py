"""Plain tables for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence


def table_lines(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    r"""Yield the lines of a table: columns as wide as their widest cell, two spaces between.

    >>> print("\n".join(table_lines(("id", "teeth"), [("crank", "18"), ("cam", "36")])))
    id     teeth
    -----  -----
    crank  18
    cam    36
    """
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    for cells in (head, ["-" * width for width in widths], *rows):
        padded = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        yield "  ".join(padded).rstrip()
