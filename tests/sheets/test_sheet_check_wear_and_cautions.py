"""Wear, sensors, belt, cautions: each finding proven by a sheet broken in just that way."""

import pytest
from sheet_findings import ERROR, WARNING, only
from valid_sheets import VEE_EIGHT, edited, shipped

from quizsvc.sheets.check import check_sheet


def test_a_wear_limit_beyond_practice_is_pointed_out():
    finding = only(edited(VEE_EIGHT, drives__0__elongation_limit_percent=2.0))

    assert finding.field == "drives[1].elongation_limit_percent"
    assert "1.5 %" in finding.message


def test_a_groove_outside_the_plungers_travel_is_refused():
    finding = only(edited(drives__0__tensioner__groove_at_mm=5.0))

    assert (finding.severity, finding.field) == (ERROR, "drives[1].tensioner.groove_at_mm")


def test_a_tensioner_that_runs_out_before_the_limit_is_pointed_out():
    finding = only(edited(drives__0__tensioner__longest_mm=21.0))

    assert (finding.severity, finding.field) == (WARNING, "drives[1].tensioner.longest_mm")


def test_a_groove_that_shows_only_after_the_limit_is_pointed_out():
    finding = only(edited(drives__0__tensioner__groove_at_mm=24.0))

    assert finding.field == "drives[1].tensioner.groove_at_mm"
    assert "22.9 mm out" in finding.message


def test_a_tone_wheel_on_an_intermediate_shaft_is_pointed_out():
    assert only(edited(VEE_EIGHT, sensors__0__shaft="intermediate")).field == "sensors[1].shaft"


def test_an_accessory_belt_that_cannot_lie_so_is_refused():
    order = ["crank-pulley", "pump-pulley", "alternator-pulley", "steering-pulley"]

    finding = only(edited(accessory_belt__order=order))

    assert (finding.severity, finding.field) == (ERROR, "accessory_belt.order")


def test_a_used_belt_set_tighter_than_a_new_one_is_pointed_out():
    assert only(edited(accessory_belt__tension_used_n=700.0)).severity is WARNING


@pytest.mark.parametrize(
    ("kind", "severity"),
    [
        ("spring", ERROR),
        ("rotation", ERROR),
        ("interference", ERROR),
        ("coolant", WARNING),
        ("lifting", WARNING),
        ("battery", WARNING),
    ],
)
def test_a_missing_caution_is_named(kind, severity):
    left = [c.model_dump(mode="json") for c in shipped().cautions if c.kind != kind]

    finding = only(edited(cautions=left))

    assert (finding.severity, finding.field) == (severity, "cautions")
    assert f"the {kind} caution is missing" in finding.message
    assert kind in finding.remedy


def test_a_free_running_engine_needs_no_interference_caution():
    left = [c.model_dump(mode="json") for c in shipped().cautions if c.kind != "interference"]

    assert (
        check_sheet(
            edited(
                cautions=left,
                valves__interference=False,
                valves__intake_recess_mm=9.0,
                valves__exhaust_recess_mm=9.0,
            )
        )
        == ()
    )
