"""Valves: each finding proven by a sheet that is broken in just that way."""

from sheet_findings import ERROR, WARNING, found, only
from valid_sheets import VEE_SIX, edited

from quizsvc.sheets.check import check_sheet, errors_of


def test_valve_heads_wider_than_the_bore_are_refused():
    sheet = edited(valves__intake_head_mm=50.0, valves__exhaust_head_mm=40.0)

    finding = found(sheet, "valves.intake_head_mm")

    assert finding.severity is ERROR
    assert "bore of 86 mm" in finding.message


def test_a_valve_that_shuts_before_it_opens_is_refused():
    finding = found(
        edited(valves__events__ivo_btdc=-90.0, valves__events__ivc_abdc=-90.0),
        "valves.events.ivc_abdc",
    )

    assert finding.severity is ERROR
    assert "before it has opened" in finding.message


def test_events_with_a_wrong_sign_show_in_the_lobe_separation():
    sheet = edited(valves__events__ivc_abdc=-48.0)

    assert "cam degrees" in next(
        f.message for f in check_sheet(sheet) if "lobe separation" in f.message
    )
    assert any("open for 144 crank degrees" in f.message for f in check_sheet(sheet))


def test_a_checking_lift_that_the_valve_does_not_reach_is_refused():
    sheet = edited(
        valves__events__at_lift_mm=2.0, valves__intake_lift_mm=1.9, valves__intake_head_mm=10.0
    )

    finding = next(f for f in errors_of(sheet) if f.field == "valves.events.at_lift_mm")

    assert "at_lift_mm" in finding.message


def test_a_lift_too_steep_for_its_events_is_pointed_out():
    sheet = edited(valves__intake_lift_mm=24.0, valves__intake_recess_mm=20.0)

    messages = [f.message for f in check_sheet(sheet) if f.field == "valves.intake_lift_mm"]

    assert any("mm per crank degree" in message for message in messages)
    assert any("of the head's diameter" in message for message in messages)


def test_a_valve_that_meets_the_piston_in_time_is_refused():
    sheet = edited(
        valves__intake_recess_mm=0.0, valves__intake_pocket_mm=0.0, valves__events__ivo_btdc=50.0
    )

    finding = found(sheet, "valves.intake_pocket_mm")

    assert finding.severity is ERROR
    assert "into the piston" in finding.message


def test_a_gap_below_the_one_asked_for_is_pointed_out():
    finding = only(edited(valves__exhaust_pocket_mm=0.0))

    assert (finding.severity, finding.field) == (WARNING, "valves.exhaust_pocket_mm")
    assert "2.37 mm" in finding.message
    assert "less than the 2.54 mm" in finding.message


def test_the_phaser_range_counts_for_the_gap():
    """Parked, the gap is 5.0 mm; advanced by 60° the valve is much further open at TDC."""
    finding = only(edited(VEE_SIX, valves__phaser_range_deg=60.0))

    assert finding.field == "valves.intake_pocket_mm"


def test_a_free_running_engine_whose_valves_reach_the_pistons_is_refused():
    finding = only(edited(valves__interference=False))

    assert (finding.severity, finding.field) == (ERROR, "valves.interference")
    assert "intake and the exhaust valve" in finding.message


def test_an_interference_engine_whose_valves_never_reach_is_pointed_out():
    finding = only(edited(valves__intake_recess_mm=9.0, valves__exhaust_recess_mm=9.0))

    assert (finding.severity, finding.field) == (WARNING, "valves.interference")
