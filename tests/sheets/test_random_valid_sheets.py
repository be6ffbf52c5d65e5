"""The random sheets that other tests draw from must themselves be right."""

from hypothesis import given, settings
from valid_sheets import valid_sheets

from quizsvc.sheets.check import errors_of
from quizsvc.sheets.references import reference_problems
from quizsvc.sheets.schema import EngineSheet


@settings(max_examples=60, deadline=None)
@given(valid_sheets())
def test_a_random_sheet_has_no_error(sheet: EngineSheet):
    assert reference_problems(sheet) == []
    assert errors_of(sheet) == ()
