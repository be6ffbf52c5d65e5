"""What the check says of a toothed belt, in a belt's words, and what its back turns."""

import math

import pytest
from hypothesis import given, settings
from valid_sheets import BELT_THREE, INLINE_FOUR, belt_sheets, edited, shipped

from quizsvc.errors import InputError
from quizsvc.sheets.bench_state import turning_wheels
from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.finding import Severity
from quizsvc.sheets.schema import EngineSheet, ShaftKind
from quizsvc.sheets.state import drive_path_of, loop_pitches, roller_turns, wheel_of
from quizsvc.sheets.wear_state import plunger_of

WHEEL = {"crank": 0, "roller": 1, "intake": 2, "exhaust": 3, "pump": 4, "idler": 5}


def belt(**changes) -> EngineSheet:
    """Return the belt engine with values of its drive changed."""
    return edited(BELT_THREE, **{f"drives__0__{name}": value for name, value in changes.items()})


def findings(sheet: EngineSheet) -> list[str]:
    return [str(found.message) + " " + found.remedy for found in check_sheet(sheet)]


@pytest.mark.parametrize(("teeth", "says"), [(136, "too short"), (138, "longer than")])
def test_a_wrong_number_of_teeth_is_found_and_the_right_one_named(teeth, says):
    found = findings(belt(pins=teeth))

    assert any("the belt is" in one and says in one for one in found)
    assert teeth != 136 or any("State 137 teeth" in one for one in found)


def test_an_odd_number_of_teeth_is_nothing_to_remark_on_a_belt():
    assert shipped(BELT_THREE).drives[0].pins % 2
    assert check_sheet(shipped(BELT_THREE)) == ()


def test_a_wrong_count_between_marks_is_put_in_teeth():
    counts = [one.model_dump() for one in shipped(BELT_THREE).drives[0].mark_pins]
    counts[2]["pins"] = 55

    (found,) = [one for one in findings(belt(mark_pins=counts)) if "cannot line up" in one]

    assert "State 57 teeth" in found
    assert "pins" not in found


def test_a_pulley_without_its_mark_is_called_a_pulley():
    found = findings(belt(wheels__2__mark=None, mark_pins=[]))

    assert any("this pulley has no timing mark" in one for one in found)


def test_a_line_on_a_tooth_where_no_mark_stands_is_pointed_out():
    (found,) = findings(belt(marked_links=[0, 58]))

    assert "no pulley's mark stands at this tooth; marks stand at 0, 54, 80" in found


def test_too_few_teeth_in_mesh_are_pointed_out():
    """Six at the least (from memory); the exhaust pulley lifted off most of its wrap."""
    sheet = shipped(BELT_THREE)
    wheels = [one.model_dump(mode="json") for one in sheet.drives[0].wheels]
    wheels[WHEEL["exhaust"]] |= {"teeth": 16}

    found = findings(edited(BELT_THREE, drives__0__wheels=wheels))

    assert any("teeth in mesh); usual is at least 6 teeth" in one for one in found)


def test_a_pump_on_the_back_is_turned_but_a_camshaft_is_not():
    pump = shipped(BELT_THREE).shafts[3]
    as_cam = edited(BELT_THREE, shafts__3__kind="intermediate")

    assert pump.kind is ShaftKind.PUMP
    assert any("no chain of drives from the crankshaft turns it" in one for one in findings(as_cam))


def test_a_belts_tensioner_has_no_plunger_and_a_chains_must_have_one():
    drive = shipped(BELT_THREE).drives[0]
    bare = edited(INLINE_FOUR, drives__0__tensioner={"kind": "spring", "wheel": "shoe"})

    with pytest.raises(InputError, match="states no plunger"):
        plunger_of(drive)
    (found,) = check_sheet(bare)
    assert found.severity is Severity.ERROR
    assert found.field == "drives[1].tensioner"
    assert "extension_new_mm" in found.remedy


@settings(max_examples=20, deadline=None)
@given(belt_sheets())
def test_on_any_belt_its_teeth_follow_from_the_path_and_rollers_run_at_the_belts_speed(sheet):
    drive = sheet.drives[0]
    path = drive_path_of(sheet, drive.id)
    driver = wheel_of(drive, drive.driver)

    assert loop_pitches(sheet, drive.id) == pytest.approx(drive.pins, abs=0.11)
    assert path.length_mm / drive.pitch_mm == pytest.approx(loop_pitches(sheet, drive.id))
    for wheel in drive.wheels:
        if wheel.radius_mm is None:
            continue
        rim = abs(roller_turns(sheet, drive, wheel)) * math.tau * wheel.radius_mm
        assert rim == pytest.approx(driver.teeth * drive.pitch_mm)
        assert (roller_turns(sheet, drive, wheel) < 0) == (wheel.contact == "back")


def test_the_bench_turns_every_round_wheel_of_a_belt_but_no_chain_guide():
    turned = {wheel.id for wheel in turning_wheels(shipped(BELT_THREE))}
    of_chain = {wheel.id for wheel in turning_wheels(shipped(INLINE_FOUR))}

    assert turned == {f"timing/{wheel.id}" for wheel in shipped(BELT_THREE).drives[0].wheels}
    assert of_chain == {"timing/crank-wheel", "timing/intake-wheel", "timing/exhaust-wheel"}


def test_an_engine_is_spoken_of_by_its_drive():
    assert words_of_sheet(shipped(BELT_THREE)).end == "belt end"
    assert words_of_sheet(shipped(INLINE_FOUR)).end == "chain end"
    both = (*shipped(INLINE_FOUR).drives, *shipped(BELT_THREE).drives)
    mixed = shipped(INLINE_FOUR).model_copy(update={"drives": both, "revision": 99})
    assert words_of_sheet(mixed).wheel == "sprocket"
