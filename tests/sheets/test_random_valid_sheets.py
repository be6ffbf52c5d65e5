"""The random sheets that other tests draw from must themselves be right."""

from hypothesis import given, settings
from valid_sheets import belt_sheets, valid_sheets

from quizsvc.sheets.check import errors_of
from quizsvc.sheets.computed import computed_values
from quizsvc.sheets.references import reference_problems
from quizsvc.sheets.schema import EngineSheet


@settings(max_examples=60, deadline=None)
@given(valid_sheets())
def test_a_random_sheet_has_no_error(sheet: EngineSheet):
    assert reference_problems(sheet) == []
    assert errors_of(sheet) == ()


@settings(max_examples=15, deadline=None)
@given(belt_sheets())
def test_a_toothed_belt_is_checked_like_a_chain_but_does_not_grow(sheet: EngineSheet):
    figures = {figure.quantity: figure for figure in computed_values(sheet)}

    assert errors_of(sheet) == ()
    assert "between marks" in figures
    assert "plunger at wear limit" not in figures
    assert "lag at wear limit" not in figures
    assert "teeth in mesh" in figures
