"""Marks and safe position: each finding proven by a sheet that is broken in just that way."""

import math

from sheet_findings import ERROR, WARNING, found, only
from valid_sheets import INLINE_FOUR, VEE_EIGHT, VEE_SIX, edited

from quizsvc.sheets.check import check_sheet


def test_marks_that_cannot_line_up_in_the_stated_position_are_refused():
    finding = found(edited(drives__0__mark_pins__0__pins=54), "drives[1].mark_pins[1].pins")

    assert (finding.severity, finding.value) == (ERROR, 54)
    assert "there are 53.00 pitches, not 54" in finding.message
    assert "-1.00 pitches, 20.0° of crank" in finding.message
    assert finding.remedy.startswith("State 53 pins")


def test_a_mark_off_by_part_of_a_pin_is_pointed_out():
    fields = {
        f.field: f.severity for f in check_sheet(edited(drives__0__wheels__3__mark__at_deg=3.0))
    }

    assert fields == {
        "drives[1].mark_pins[2].pins": WARNING,  # 3° of a 10° tooth
        "drives[1].mark_pins[3].pins": WARNING,
    }


def test_a_mark_where_the_chain_does_not_lie_cannot_be_counted():
    finding = found(edited(drives__0__wheels__0__mark__at_deg=0.0), "drives[1].mark_pins[1].pins")

    assert finding.severity is ERROR
    assert "the chain does not lie on its wheel (0.0°)" in finding.message


def test_marks_without_a_stated_count_must_still_stand_whole_pins_apart():
    sheet = edited(drives__0__mark_pins=[], drives__0__wheels__3__mark__at_deg=3.0)

    finding = only(sheet)

    assert (finding.severity, finding.field) == (WARNING, "drives[1].wheels[4].mark")
    assert "14.30 pitches" in finding.message


def test_a_sprocket_without_a_mark_is_pointed_out():
    finding = only(edited(VEE_EIGHT, drives__0__wheels__1__mark=None, drives__0__mark_pins=[],
                          drives__0__marked_links=[0]))  # fmt: skip

    assert finding.field == "drives[1].wheels[2].mark"
    assert finding.severity is WARNING


def test_a_marked_link_away_from_every_mark_is_pointed_out():
    finding = only(edited(drives__0__marked_links=[0, 52, 67]))

    assert (finding.field, finding.value) == ("drives[1].marked_links[2]", 52)
    assert "marks stand at 0, 53, 67" in finding.message


def test_a_stated_safe_position_that_is_not_the_computed_one_is_refused():
    finding = only(edited(VEE_SIX, safe_position__atdc_deg=90.0))

    throw, rod = 42.0, 150.0
    thirty = math.radians(30)  # cylinders 2 and 5 stand 30° before their TDC at 120°
    drop = throw + rod - throw * math.cos(thirty) - math.sqrt(rod**2 - (throw * 0.5) ** 2)
    assert (finding.severity, finding.field, finding.value) == (
        ERROR,
        "safe_position.atdc_deg",
        90.0,
    )
    assert "60.0° or 180.0° or 300.0° ATDC; the stated one is 30.0° off" in finding.message
    assert f"cylinders 2 and 5 are the shallowest, {drop:.1f} mm below TDC" in finding.message


def test_any_of_several_equal_safe_positions_may_be_stated():
    assert check_sheet(edited(INLINE_FOUR, safe_position__atdc_deg=270.0)) == ()


def test_top_dead_centre_is_no_safe_position():
    finding = only(edited(safe_position__atdc_deg=0.0))

    assert "cylinders 1 and 4 are the shallowest, 0.0 mm" in finding.message
    assert "90.0° off" in finding.message
