"""The figures that stand beside a sheet."""

import pytest
from hypothesis import given, settings
from valid_sheets import SHIPPED, edited, shipped, valid_sheets

from quizsvc.sheets.computed import computed_values
from quizsvc.sheets.schema import EngineSheet


def values(sheet: EngineSheet, quantity: str) -> dict[str, float]:
    return {f.of: f.value for f in computed_values(sheet) if f.quantity == quantity}


def test_clearance_slip_and_wear_are_reported():
    sheet = shipped()

    assert values(sheet, "least gap to piston") == {
        "intake valve": pytest.approx(3.41, abs=0.01),
        "exhaust valve": pytest.approx(3.37, abs=0.01),
    }
    assert values(sheet, "slip tolerance advanced") == {"timing": 1}
    assert values(sheet, "slip tolerance retarded") == {"timing": 1}
    assert values(sheet, "lag at wear limit") == {
        "intake": pytest.approx(5.24, abs=0.01),
        "exhaust": pytest.approx(3.85, abs=0.01),
    }


@pytest.mark.parametrize("name", SHIPPED)
def test_each_drive_has_its_path_and_the_worth_of_a_tooth(name):
    sheet = shipped(name)

    assert set(values(sheet, "path")) == {drive.id for drive in sheet.drives}
    assert set(values(sheet, "one tooth")) == {drive.id for drive in sheet.drives}


def test_what_the_core_refuses_is_left_out_and_the_rest_stays():
    sheet = edited(drives__0__wheels__1__x_mm=-200.0)

    assert values(sheet, "path") == {}
    assert values(sheet, "displacement") == {"engine": pytest.approx(1998, abs=1)}


@given(valid_sheets())
@settings(max_examples=15, deadline=None)
def test_every_random_engine_has_all_its_figures(sheet: EngineSheet):
    quantities = {figure.quantity for figure in computed_values(sheet)}

    assert {"safe position", "path", "between marks", "least gap to piston"} <= quantities
    assert {"slip tolerance advanced", "lag at wear limit"} <= quantities
