"""Tables as CSV and XLSX that no spreadsheet takes for formulas.

A cell that begins with = + - @, a tab or a carriage return may be run as a formula; quoting it
does not help (OWASP ASVS 5.0, 1.2.10). It is written with an apostrophe before it, and XLSX
cells are written as text besides.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import xlsxwriter

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
WIDEST = 40  # characters
MOST_ROWS = 1_048_000  # an XLSX sheet holds 1,048,576
_NAME_NEVER = str.maketrans("[]:*?/\\", "       ")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: a head, rows of text, and lines that stand above it."""

    name: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    above: Sequence[str] = field(default=())


def plain_cell(text: str) -> str:
    r"""Return a cell's text so that it is read as text only.

    >>> plain_cell("=1+2"), plain_cell("ready"), plain_cell("\t=1")
    ("'=1+2", 'ready', "'\t=1")
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def csv_text(sheet: Sheet) -> str:
    """Return a table as CSV (RFC 4180) with the byte order mark that spreadsheets look for."""
    out = io.StringIO()
    out.write("\ufeff")
    writer = csv.writer(out)
    writer.writerows([plain_cell(line)] for line in sheet.above)
    writer.writerow(_plain(sheet.head))
    writer.writerows(_plain(row) for row in sheet.rows)
    return out.getvalue()


def xlsx_bytes(sheets: Sequence[Sheet]) -> bytes:
    """Return a workbook: text only, head frozen, printed across one page."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_numbers": False,
            "strings_to_urls": False,
        },
    )
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    plain = book.add_format({"text_wrap": True, "valign": "top"})
    for sheet in sheets:
        _write(book.add_worksheet(_sheet_name(sheet.name)), sheet, bold, plain)
    book.close()
    return out.getvalue()


def _write(page: Any, sheet: Sheet, bold: Any, plain: Any) -> None:
    start = len(sheet.above)
    for row, line in enumerate(sheet.above):
        page.write_string(row, 0, plain_cell(line))
    for row, cells in enumerate((sheet.head, *sheet.rows), start):
        look = bold if row == start else plain
        for column, text in enumerate(_plain(cells)):
            page.write_string(row, column, text, look)
    for column, width in enumerate(_widths(sheet)):
        page.set_column(column, column, width)
    page.freeze_panes(start + 1, 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(start)


def _plain(cells: Iterable[str]) -> list[str]:
    return [plain_cell(text) for text in cells]


def _widths(sheet: Sheet) -> list[int]:
    looked_at = (sheet.head, *sheet.rows[:200])
    return [min(WIDEST, 2 + max(map(len, column))) for column in zip(*looked_at, strict=True)]


def _sheet_name(name: str) -> str:
    """Return a name a workbook may have: 31 characters, some never."""
    return name.translate(_NAME_NEVER).strip(" '")[:31] or "Table"
