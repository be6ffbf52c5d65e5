"""Cells of tables that spreadsheets open: never a formula, and the text comes back.

A spreadsheet runs a cell that begins with one of `DANGEROUS` as a formula, quoted or not. Such a
text gets an apostrophe in front; so does one that already has apostrophes before such a sign, so
that taking one away always gives the text that was written. Source: OWASP ASVS 5.0.0, 1.2.10.
"""

from __future__ import annotations

DANGEROUS = frozenset("=+-@\t\r\n＝＋－＠")


def safe_cell(text: str) -> str:
    r"""Return the text as a cell that no spreadsheet runs.

    >>> safe_cell("=1+1"), safe_cell("'=x"), safe_cell("'tis"), safe_cell("-5")
    ("'=1+1", "''=x", "'tis", "'-5")
    """
    return f"'{text}" if _runs(text) else text


def cell_text(cell: str) -> str:
    """Return the text that `safe_cell` was given.

    >>> cell_text("'=1+1"), cell_text("''=x"), cell_text("'tis"), cell_text("-5")
    ('=1+1', "'=x", "'tis", '-5')
    """
    return cell[1:] if cell.startswith("'") and _runs(cell) else cell


def _runs(text: str) -> bool:
    return text.lstrip("'")[:1] in DANGEROUS
