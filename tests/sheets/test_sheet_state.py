"""From a sheet to timing objects, held against plain reckoning and a second method."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from shapely import Point, unary_union
from valid_sheets import INLINE_FOUR, SHIPPED, VEE_EIGHT, VEE_SIX, edited, shipped, valid_sheets

from quizsvc.errors import InputError, NotFoundError
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import (
    cam_for,
    cam_ratio,
    cams_of,
    compression_ratio_of,
    counted_marks,
    displacement_cc_of,
    drive_of,
    drive_path_of,
    driven_by,
    events_of,
    exact_cam_ratio,
    layout_of,
    loop_pitches,
    mark_direction_deg,
    shaft_turns,
    shafts_behind,
    slider_of,
    stages_to,
    tooth_crank_deg,
    wheel_of,
    wheel_radius_mm,
    wheels_of_shaft,
)


def test_firing_angles_follow_from_banks_crankpins_and_order():
    assert layout_of(shipped(INLINE_FOUR)).firing_deg == {1: 0, 3: 180, 4: 360, 2: 540}
    assert layout_of(shipped(VEE_SIX)).firing_deg == {n: 120 * (n - 1) for n in range(1, 7)}
    order = shipped(VEE_EIGHT).layout.firing_order
    assert layout_of(shipped(VEE_EIGHT)).firing_deg == {n: 90 * i for i, n in enumerate(order)}


def test_stroke_rod_and_events_are_those_of_the_sheet():
    sheet = shipped()

    assert (slider_of(sheet).stroke_mm, slider_of(sheet).rod_mm) == (86.0, 143.0)
    assert events_of(sheet).intake_duration_deg == 12 + 180 + 48


def test_displacement_and_compression_are_those_of_plain_reckoning():
    swept = math.pi / 4 * 8.6**2 * 8.6
    rest = 44.0 + math.pi / 4 * 8.7**2 * 0.07 + math.pi / 4 * 8.6**2 * 0.03 + 2.5

    assert displacement_cc_of(shipped()) == pytest.approx(4 * swept)
    assert compression_ratio_of(shipped()) == pytest.approx((swept + rest) / rest)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_camshaft_turns_at_half_speed_by_its_stages(name):
    sheet = shipped(name)

    for cam in cams_of(sheet):
        by_stages = Fraction(1)
        for driving, driven in stages_to(sheet, cam.id):
            by_stages *= Fraction(driving, driven)
        assert exact_cam_ratio(sheet, cam.id) == by_stages == Fraction(1, 2)


def test_an_intermediate_shaft_turns_at_its_own_speed():
    sheet = shipped(VEE_EIGHT)

    assert cam_ratio(sheet, "intermediate") == 0.75
    assert stages_to(sheet, "intake-b") == ((21, 28), (20, 30))
    assert stages_to(sheet, "crank") == ()


def test_a_wheel_on_the_back_of_the_chain_turns_its_shaft_the_other_way():
    drive = shipped(VEE_EIGHT).model_dump(mode="json")["drives"][0]
    drive["wheels"].insert(
        1,
        {"id": "pump-wheel", "part": "sprocket", "shaft": "pump", "teeth": 14, "contact": "back"}
        | {"x_mm": -53.0, "y_mm": 90.0},
    )
    shafts = [
        *shipped(VEE_EIGHT).model_dump(mode="json")["shafts"],
        {"id": "pump", "title": "Oil pump", "kind": "pump"},
    ]

    sheet = edited(VEE_EIGHT, drives__0=drive, shafts=shafts)

    assert shaft_turns(sheet)["pump"] == Fraction(-21, 14)
    assert not drive_path_of(sheet, "primary").turns_clockwise(1)


def test_a_shaft_that_nothing_turns_is_refused():
    shafts = [
        *shipped().model_dump(mode="json")["shafts"],
        {"id": "spare", "title": "Spare", "kind": "pump"},
    ]
    sheet = edited(shafts=shafts)

    with pytest.raises(InputError, match="no chain of drives"):
        cam_ratio(sheet, "spare")


def test_each_valve_has_the_camshaft_of_its_bank():
    sheet = shipped(VEE_SIX)

    assert cam_for(sheet, 1, "intake").id == "intake-a"
    assert cam_for(sheet, 2, "exhaust").id == "exhaust-b"


def test_what_a_drive_turns_lies_behind_it():
    assert shafts_behind(shipped(VEE_SIX), "secondary-a") == ("exhaust-a",)
    assert set(shafts_behind(shipped(VEE_SIX), "primary")) == {
        "intake-a",
        "exhaust-a",
        "intake-b",
        "exhaust-b",
    }
    assert set(shafts_behind(shipped(VEE_EIGHT), "bank-b")) == {"intake-b", "exhaust-b"}


def test_a_camshaft_with_two_wheels_is_driven_by_one_of_them():
    sheet = shipped(VEE_SIX)

    assert [d.wheel.id for d in wheels_of_shaft(sheet, "intake-a")] == [
        "primary-a",
        "secondary-intake-a",
    ]
    assert driven_by(sheet, "intake-a").wheel.id == "primary-a"
    assert driven_by(sheet, "crank") is None


def test_a_toothed_wheel_has_the_radius_of_its_pin_polygon():
    drive = shipped().drives[0]

    assert wheel_radius_mm(drive, drive.wheels[0]) == pytest.approx(4 / math.sin(math.pi / 18))
    assert wheel_radius_mm(drive, drive.wheels[1]) == 220.0


def test_a_belt_pulley_has_the_radius_at_which_its_teeth_fill_the_circle():
    drive = edited(drives__0__kind="belt").drives[0]

    assert wheel_radius_mm(drive, drive.wheels[0]) == pytest.approx(18 * 8 / (2 * math.pi))


@given(valid_sheets())
@settings(max_examples=15, deadline=None)
def test_without_shoes_a_path_is_the_hull_of_its_pitch_circles(sheet: EngineSheet):
    """Second method: shapely's convex hull, circles of 2,000 corners (short by 4e-7)."""
    drive = sheet.drives[0]
    inside = [w.model_dump(mode="json") for w in drive.wheels if w.contact == "inside"]
    plain = edited(sheet, drives__0__wheels=inside, drives__0__tensioner=None)

    hull = unary_union(
        [
            Point(w.x_mm, w.y_mm).buffer(wheel_radius_mm(drive, w), quad_segs=500)
            for w in plain.drives[0].wheels
        ]
    ).convex_hull

    assert drive_path_of(plain, drive.id).length_mm == pytest.approx(hull.length, rel=2e-6)


@given(valid_sheets())
@settings(max_examples=15, deadline=None)
def test_counts_once_round_a_chain_add_up_to_its_pins(sheet: EngineSheet):
    drive = sheet.drives[0]
    once_round = counted_marks(sheet, drive.id)

    assert sum(c.stated.pins for c in once_round) == drive.pins
    assert sum(c.pitches for c in once_round) == pytest.approx(loop_pitches(sheet, drive.id))
    assert all(abs(c.off_pitches) < 1e-3 for c in once_round)


def test_pins_lie_on_the_sprocket_as_counted_tooth_by_tooth():
    """Second method: lay pins one by one along the tight strand of the two-wheel primary."""
    sheet = shipped(VEE_EIGHT)
    drive = drive_of(sheet, "primary")
    large, small = wheel_of(drive, "primary-intermediate"), wheel_of(drive, "crank-wheel")
    centre = large.y_mm
    lean = math.degrees(
        math.asin((wheel_radius_mm(drive, large) - wheel_radius_mm(drive, small)) / centre)
    )
    strand = math.sqrt(
        centre**2 - (wheel_radius_mm(drive, large) - wheel_radius_mm(drive, small)) ** 2
    )
    pins = (90 + lean) / 360 * 28 + strand / 9.525 + (90 - lean) / 360 * 21

    (out, back) = counted_marks(sheet, "primary")

    assert out.pitches == pytest.approx(pins)
    assert back.pitches == pytest.approx(pins)


@pytest.mark.parametrize("name", SHIPPED)
def test_marks_stand_as_stated_in_the_marks_position_and_again_after_the_cycle(name):
    sheet = shipped(name)
    here = sheet.marks_position.crank_deg

    for drive in sheet.drives:
        for wheel in drive.wheels:
            if wheel.mark is None:
                continue
            turns = 4 if wheel.shaft == "intermediate" else 2
            for crank_deg in (here, here + 360 * turns):
                stands = mark_direction_deg(sheet, drive, wheel.id, crank_deg)
                assert stands == pytest.approx(wheel.mark.at_deg)


def test_a_quarter_turn_of_the_crank_moves_a_cam_mark_an_eighth_in_the_running_direction():
    sheet = shipped()
    other_way = edited(layout__rotation="anticlockwise")

    assert mark_direction_deg(sheet, sheet.drives[0], "intake-wheel", 90.0) == 45.0
    assert mark_direction_deg(other_way, sheet.drives[0], "intake-wheel", 90.0) == 315.0


def test_one_tooth_is_worth_what_its_shaft_speed_makes_of_it():
    sheet = shipped(VEE_EIGHT)

    assert tooth_crank_deg(sheet, wheel_of(drive_of(sheet, "bank-a"), "intake-wheel-a")) == 24.0
    assert tooth_crank_deg(
        sheet, wheel_of(drive_of(sheet, "primary"), "primary-intermediate")
    ) == pytest.approx(360 / 28 / 0.75)


def test_a_mirrored_engine_has_the_same_path():
    sheet = shipped()
    wheels = [
        w.model_dump(mode="json") | {"x_mm": -w.x_mm, "mark": None} for w in sheet.drives[0].wheels
    ]
    mirrored = edited(
        layout__rotation="anticlockwise", drives__0__wheels=wheels, drives__0__mark_pins=[]
    )

    assert loop_pitches(mirrored, "timing") == pytest.approx(loop_pitches(sheet, "timing"))
    assert not drive_path_of(mirrored, "timing").clockwise


@pytest.mark.parametrize("look_up", [drive_of, stages_to])
def test_an_unknown_name_is_refused(look_up):
    with pytest.raises((NotFoundError, InputError)):
        look_up(shipped(), "nothing")
