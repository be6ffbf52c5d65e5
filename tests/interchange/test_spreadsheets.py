"""Tables for spreadsheets: no cell is ever run as a formula (OWASP ASVS 5.0, 1.2.10)."""

from __future__ import annotations

import csv
import io
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from quizsvc.interchange.spreadsheets import FORMULA_STARTS, Sheet, csv_text, plain_cell, xlsx_bytes

EVIL = ["=1+2", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "=cmd|' /C calc'!A0", "\uff1d1"]


def cells_of(text):
    return list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


@pytest.mark.parametrize("text", EVIL)
def test_csv_cells_that_could_be_formulas_begin_with_an_apostrophe(text):
    rows = cells_of(csv_text(Sheet("S", ("Name", text), [(text, "ready")], above=(text,))))

    assert rows == [[f"'{text}"], ["Name", f"'{text}"], [f"'{text}", "ready"]]


@pytest.mark.parametrize("text", EVIL)
def test_xlsx_holds_text_only(text):
    content = xlsx_bytes([Sheet("S", ("Name",), [(text,), ("12",)])])

    page = load_workbook(io.BytesIO(content))["S"]
    assert {cell.data_type for row in page.iter_rows() for cell in row} == {"s"}
    with ZipFile(io.BytesIO(content)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


@given(st.text(max_size=20))
@settings(max_examples=200)
def test_no_text_at_all_begins_like_a_formula(text):
    assert not plain_cell(text).startswith(FORMULA_STARTS)


def test_a_name_no_workbook_may_have_is_made_one_it_may():
    content = xlsx_bytes([Sheet("a/b:[c]*?" + "x" * 40, ("H",), [("1",)])])

    (name,) = load_workbook(io.BytesIO(content)).sheetnames
    assert len(name) <= 31
    assert not set(name) & set("[]:*?/\\")
