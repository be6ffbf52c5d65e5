"""Wheels, path, length and ratio: each finding proven by a sheet broken in just that way."""

import math

from sheet_findings import ERROR, WARNING, found, only
from valid_sheets import VEE_EIGHT, VEE_SIX, edited, shipped

from quizsvc.sheets.check import check_sheet, errors_of


def test_a_crank_wheel_away_from_the_crankshaft_is_refused():
    finding = found(edited(drives__0__wheels__0__x_mm=2.0), "drives[1].wheels[1].x_mm")

    assert finding.severity is ERROR
    assert "2.00 mm from the centre of the crankshaft" in finding.message


def test_two_wheels_of_one_shaft_have_one_centre():
    finding = found(edited(VEE_SIX, drives__1__wheels__0__y_mm=320.7), "drives[2].wheels[1].x_mm")

    assert "1.00 mm from the centre of its shaft" in finding.message


def test_sprockets_that_run_into_each_other_are_refused():
    radius = 8 / 2 / math.sin(math.pi / 36)

    finding = found(
        edited(drives__0__wheels__2__x_mm=-30.0, drives__0__wheels__3__x_mm=30.0),
        "drives[1].wheels[4].x_mm",
    )

    assert finding.severity is ERROR
    assert f"60.00 mm apart, their pitch circles need more than {2 * radius:.2f} mm" in (
        finding.message
    )


def test_wheels_too_close_for_a_strand_between_them_are_named():
    finding = found(edited(drives__0__wheels__1__x_mm=-200.0), "drives[1].wheels[2]")

    assert finding.severity is ERROR
    assert "no strand can run from shoe to intake-wheel" in finding.message


def test_wheels_in_a_wrong_order_are_refused():
    wheels = shipped().model_dump(mode="json")["drives"][0]["wheels"]
    wheels[2], wheels[3] = wheels[3], wheels[2]

    finding = found(edited(drives__0__wheels=wheels), "drives[1].wheels")

    assert finding.severity is ERROR
    assert "no chain can lie so" in finding.message
    assert "1 shoe" in finding.message


def test_a_shoe_that_the_chain_does_not_touch_is_refused():
    finding = found(edited(drives__0__wheels__1__x_mm=-300.0), "drives[1].wheels")

    assert "close once round" in finding.message


def test_a_guide_that_the_chain_only_grazes_is_pointed_out():
    touching = shipped().drives[0].wheels[4].x_mm
    grazing = edited(drives__0__wheels__4__x_mm=touching + 3.985)

    finding = found(grazing, "drives[1].wheels[5]")

    assert finding.severity is WARNING
    assert "does not touch it" in finding.message


def test_a_driver_with_little_wrap_is_pointed_out():
    crank, _, intake, exhaust, _ = shipped().model_dump(mode="json")["drives"][0]["wheels"]
    wide = [crank, intake | {"x_mm": -200.0}, exhaust | {"x_mm": 200.0}]

    finding = found(
        edited(drives__0__wheels=wide, drives__0__tensioner=None, drives__0__mark_pins=[]),
        "drives[1].wheels[1]",
    )

    assert finding.severity is WARNING
    assert "usual is at least 120°" in finding.message


def test_a_driven_sprocket_with_few_teeth_in_mesh_is_pointed_out():
    wheels = shipped(VEE_EIGHT).model_dump(mode="json")["drives"][0]["wheels"]
    pump = {"id": "pump-wheel", "part": "sprocket", "shaft": "pump", "teeth": 14}
    wheels.insert(1, pump | {"x_mm": -53.0, "y_mm": 90.0, "contact": "back"})
    shafts = shipped(VEE_EIGHT).model_dump(mode="json")["shafts"]
    shafts.append({"id": "pump", "title": "Oil pump", "kind": "pump"})

    finding = found(
        edited(VEE_EIGHT, drives__0__wheels=wheels, shafts=shafts), "drives[1].wheels[2]"
    )

    assert finding.severity is WARNING
    assert "at least 5 teeth" in finding.message


def test_a_tensioner_on_the_pulled_strand_is_pointed_out():
    finding = found(edited(drives__0__tensioner__wheel="fixed-guide"), "drives[1].tensioner.wheel")

    assert finding.severity is WARNING
    assert "slack strand" in finding.remedy


def test_a_chain_too_short_for_its_path_is_refused():
    finding = found(edited(drives__0__pins=118), "drives[1].pins")

    assert (finding.severity, finding.value) == (ERROR, 118)
    assert "takes 120.00 pitches, 2.00 more than it has (16.0 mm)" in finding.message
    assert "State 120 pins" in finding.remedy


def test_a_chain_too_long_even_for_its_tensioner_is_refused():
    finding = found(edited(drives__0__pins=122), "drives[1].pins")

    assert finding.severity is ERROR
    assert "2.00 pitches (16.0 mm) longer" in finding.message


def test_a_little_slack_is_left_to_the_tensioner_with_a_warning():
    lower = edited(drives__0__wheels__2__y_mm=304.0, drives__0__wheels__3__y_mm=304.0)

    finding = found(lower, "drives[1].pins")

    assert finding.severity is WARNING
    assert "Move shoe" in finding.remedy


def test_slack_without_a_tensioner_is_refused():
    finding = found(
        edited(
            VEE_EIGHT,
            drives__0__wheels__1__y_mm=177.0,
            drives__1__wheels__0__y_mm=177.0,
            drives__2__wheels__0__y_mm=177.0,
        ),
        "drives[1].pins",
    )

    assert finding.severity is ERROR
    assert "longer than its path" in finding.message


def test_a_path_off_by_less_than_two_pins_asks_for_the_wheels_not_for_the_same_pins():
    higher = edited(drives__0__wheels__2__y_mm=308.0, drives__0__wheels__3__y_mm=308.0)

    finding = found(higher, "drives[1].pins")

    assert "too short" in finding.message
    assert finding.remedy == "Correct the teeth or the places of the wheels."


def test_an_odd_number_of_pins_is_pointed_out():
    odd = [f for f in check_sheet(edited(drives__0__pins=121)) if "cranked link" in f.message]

    assert [f.severity for f in odd] == [WARNING]
    assert "120 or 122" in odd[0].remedy


def test_a_camshaft_not_at_half_speed_is_refused():
    finding = found(edited(drives__0__wheels__2__teeth=35), "shafts[2].id")

    assert (finding.severity, finding.value) == (ERROR, "intake")
    assert "18/35 times per crank turn (18 to 35 teeth)" in finding.message


def test_a_wrong_stage_puts_every_camshaft_behind_it_out():
    wrong = edited(VEE_EIGHT, drives__0__wheels__1__teeth=27)

    fields = {f.field for f in errors_of(wrong) if "half as fast" in f.message}

    assert fields == {"shafts[3].id", "shafts[4].id", "shafts[5].id", "shafts[6].id"}


def test_a_shaft_that_nothing_turns_is_refused():
    shafts = [
        *shipped().model_dump(mode="json")["shafts"],
        {"id": "pump", "title": "Oil pump", "kind": "pump"},
    ]

    finding = only(edited(shafts=shafts))

    assert (finding.field, finding.value) == ("shafts[4].id", "pump")
    assert "no chain of drives" in finding.message


def test_a_shaft_driven_twice_at_two_speeds_is_refused():
    drive = shipped().model_dump(mode="json")["drives"][0] | {"id": "second"}
    drive["wheels"][3] |= {"teeth": 30}

    finding = found(edited(drives=[shipped().model_dump(mode="json")["drives"][0], drive]),
                    "drives[2].wheels")  # fmt: skip

    assert finding.severity is ERROR
    assert "turns exhaust 3/5 times per crank turn, another one 1/2" in finding.message


def test_a_lobe_on_no_camshaft_is_refused():
    finding = only(edited(shafts__2__carries=[]))

    assert (finding.severity, finding.field) == (ERROR, "shafts")
    assert "exhaust of cylinder 1" in finding.message
