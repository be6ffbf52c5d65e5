"""What is done on the bench: turning up to a contact, slipping, taking off and refitting."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from valid_sheets import INLINE_FOUR, SHIPPED, VEE_EIGHT, VEE_SIX, shipped, valid_sheets

from quizsvc.errors import InputError
from quizsvc.sheets.bench_columns import chain_place, columns_of, look_up, moved_pitches, values_at
from quizsvc.sheets.bench_deeds import overlap_at, refit, slip, take_off, touches, turn
from quizsvc.sheets.bench_state import BenchState, Off, Setting, motion_of, wheel_key
from quizsvc.sheets.state import (
    drive_of,
    layout_of,
    mark_direction_deg,
    slider_of,
    wheel_of,
)
from quizsvc.sheets.valve_state import lift_curve_of, slip_tolerance_of, valve_room_of


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("deg", [0.0, 33.3, 211.0, 540.5, 719.9, 765.0, -100.5])
def test_in_time_every_column_says_what_the_core_says(name, deg):
    sheet = shipped(name)
    layout, slider = layout_of(sheet), slider_of(sheet)

    values = values_at(sheet, BenchState(deg))

    for cylinder in layout.cylinders:
        drop = slider.drop_mm(deg - layout.tdc_deg(cylinder))
        assert values[f"drop:{cylinder}"] == pytest.approx(drop, abs=0.01)
        for valve in ("intake", "exhaust"):
            lift = lift_curve_of(sheet, valve).lift_mm(deg - layout.firing_deg[cylinder])
            assert values[f"lift:{cylinder}:{valve}"] == pytest.approx(lift, abs=0.01)
    for drive in sheet.drives:
        for wheel in drive.wheels:
            if wheel.mark:
                at = mark_direction_deg(sheet, drive, wheel.id, deg)
                apart = (values[f"turn:{wheel_key(drive, wheel)}"] - at + 180) % 360 - 180
                assert abs(apart) < 1e-6


def test_a_slip_of_two_teeth_moves_lift_and_mark_by_forty_degrees():
    sheet = shipped(INLINE_FOUR)
    drive = drive_of(sheet, "timing")
    slipped = Setting((("timing", 2),))

    values = values_at(sheet, BenchState(140.0, slipped))

    in_time = values_at(sheet, BenchState(100.0))
    assert values["lift:1:exhaust"] == pytest.approx(in_time["lift:1:exhaust"])
    key = f"turn:{wheel_key(drive, wheel_of(drive, 'intake-wheel'))}"
    assert values[key] == pytest.approx(in_time[key])
    crank = f"turn:{wheel_key(drive, wheel_of(drive, 'crank-wheel'))}"
    assert values[crank] == pytest.approx(in_time[crank] + 40)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_crank_stops_at_the_contact_that_the_slip_tolerance_names(name):
    sheet = shipped(name)
    drive = sheet.drives[-1].id
    tolerance = slip_tolerance_of(sheet, drive)
    first = tolerance.retarded_contact
    start = BenchState(sheet.marks_position.crank_deg, Setting(((drive, first.teeth_off),)))

    turned = turn(sheet, start, 720.0)

    assert (turned.stopped_by.cylinder, turned.stopped_by.valve) == (first.cylinder, first.valve)
    assert turned.state.crank_deg == pytest.approx(first.crank_deg, abs=0.11)
    assert touches(turned.stopped_by, turned.state.crank_deg)
    assert turn(sheet, turned.state, 5.0).state == turned.state


def test_backwards_the_crank_stops_at_the_other_end_of_an_overlap():
    sheet = shipped(INLINE_FOUR)
    start = slip(sheet, BenchState(190.0), "timing", 2)

    turned = turn(sheet, start, -90.0)

    assert turned.stopped_by.to_deg == pytest.approx(179.5, abs=0.1)
    assert turned.state.crank_deg == pytest.approx(179.6, abs=0.11)


def test_in_time_nothing_stops_the_crank():
    for name in SHIPPED:
        sheet = shipped(name)

        assert turn(sheet, BenchState(0.0), 1440.0) == turn(sheet, BenchState(720.0), 720.0)
        assert turn(sheet, BenchState(0.0), -1440.0).stopped_by is None


def test_a_chain_is_not_slipped_into_a_contact():
    sheet = shipped(INLINE_FOUR)

    with pytest.raises(InputError) as refused:
        slip(sheet, BenchState(172.0), "timing", 2)

    assert "exhaust valve of cylinder 2" in refused.value.problem
    assert "safe position" in refused.value.remedy


def test_out_of_an_impossible_state_every_way_is_open():
    sheet = shipped(INLINE_FOUR)
    inside = BenchState(172.0, Setting((("timing", 2),)))
    assert overlap_at(sheet, inside) is not None

    assert slip(sheet, inside, "timing", -1).setting.teeth("timing") == 1
    assert turn(sheet, inside, 30.0).state.crank_deg == 202.0


def test_with_the_chain_off_the_crank_turns_and_the_cams_stand():
    sheet = shipped(VEE_SIX)
    off = take_off(sheet, BenchState(60.0), "primary")

    before, after = (values_at(sheet, turn(sheet, off, by).state) for by in (0.0, 20.0))

    still = [name for name in before if name.startswith("lift:")]
    drive = drive_of(sheet, "primary")
    still += [f"turn:{wheel_key(drive, wheel)}" for wheel in drive.wheels if wheel.shaft == "cam"]
    assert all(before[name] == after[name] for name in still)
    assert before["drop:1"] != after["drop:1"]
    assert before["turn:primary/primary-a"] == after["turn:primary/primary-a"]
    assert before["turn:secondary-a/secondary-exhaust-a"] == pytest.approx(
        after["turn:secondary-a/secondary-exhaust-a"]
    )


def test_with_one_bank_off_the_other_bank_goes_on():
    sheet = shipped(VEE_EIGHT)
    off = take_off(sheet, BenchState(45.0), "bank-a")

    before, after = (values_at(sheet, BenchState(deg, off.setting)) for deg in (45.0, 65.0))

    assert before["turn:bank-a/intake-wheel-a"] == after["turn:bank-a/intake-wheel-a"]
    assert before["turn:bank-b/intake-wheel-b"] != after["turn:bank-b/intake-wheel-b"]


def test_standing_valves_stop_the_crank_where_their_gap_is_gone():
    sheet = shipped(INLINE_FOUR)
    off = take_off(sheet, BenchState(90.0), "timing")

    turned = turn(sheet, off, 360.0)

    contact = turned.stopped_by
    values = values_at(sheet, turned.state)
    room = valve_room_of(sheet, contact.valve)
    gap = room.gap_from_mm(
        values[f"drop:{contact.cylinder}"], values[f"lift:{contact.cylinder}:{contact.valve}"]
    )
    assert 0 <= gap < 0.2


@pytest.mark.parametrize(
    ("turned", "teeth"), [(0.0, 0), (9.0, 0), (11.0, 1), (20.0, 1), (50.0, 2), (-20.0, -1)]
)
def test_refitting_puts_the_chain_into_the_nearest_whole_tooth(turned, teeth):
    sheet = shipped(INLINE_FOUR)
    off = Setting((), Off("timing", 90.0))

    fitted = refit(sheet, BenchState(90.0 + turned, off))

    assert fitted.setting == Setting().with_teeth("timing", teeth)
    assert fitted.turned_deg == 90.0 + turned


def test_a_whole_crank_turn_with_every_cam_standing_leaves_the_engine_in_time():
    sheet = shipped(VEE_SIX)

    fitted = refit(sheet, BenchState(60.0 + 360.0, Setting((), Off("primary", 60.0))))

    assert fitted == BenchState(60.0)


def test_a_whole_crank_turn_with_one_bank_standing_does_not():
    sheet = shipped(VEE_EIGHT)

    fitted = refit(sheet, BenchState(405.0, Setting((), Off("bank-a", 45.0))))

    assert abs(fitted.setting.teeth("bank-a")) == 15


def test_while_a_chain_is_off_its_shafts_can_be_turned_by_teeth_but_no_other_is_touched():
    sheet = shipped(VEE_SIX)
    off = take_off(sheet, BenchState(60.0), "secondary-a")

    turned = slip(sheet, off, "secondary-a", 1)

    assert values_at(sheet, turned)["lift:1:exhaust"] == pytest.approx(
        values_at(sheet, BenchState(30.0))["lift:1:exhaust"], abs=0.01
    )
    for deed in (lambda: slip(sheet, off, "primary", 1), lambda: take_off(sheet, off, "primary")):
        with pytest.raises(InputError, match="is off"):
            deed()


def test_refitting_needs_a_chain_that_is_off():
    with pytest.raises(InputError, match="no chain is off"):
        refit(shipped(), BenchState(0.0))


def test_a_chain_runs_with_its_driver_rests_with_it_and_is_gone_when_off():
    sheet = shipped(VEE_SIX)
    primary, secondary = drive_of(sheet, "primary"), drive_of(sheet, "secondary-a")

    running = chain_place(sheet, Setting(), primary)
    off = Setting((), Off("primary", 100.0))

    assert moved_pitches(running, 720.0) - moved_pitches(running, 0.0) == 36
    assert chain_place(sheet, off, primary).off
    resting = chain_place(sheet, off, secondary)
    assert moved_pitches(resting, 0.0) == moved_pitches(resting, 300.0) == 100 / 360 * 12


def test_between_two_rows_a_direction_goes_the_short_way():
    assert look_up((359.0, 1.0), 180.0, wraps=True) == 360.0


@settings(max_examples=15, deadline=None)
@given(sheet=valid_sheets(), teeth=st.integers(-3, 3), by=st.floats(-720, 720))
def test_any_valid_engine_can_be_turned_and_never_comes_to_stand_in_a_contact(sheet, teeth, by):
    drive = sheet.drives[0].id
    start = BenchState(sheet.marks_position.crank_deg, Setting().with_teeth(drive, teeth))
    if overlap_at(sheet, start) is not None:
        return

    reached = turn(sheet, start, round(by, 1)).state

    assert overlap_at(sheet, reached) is None
    assert set(columns_of(sheet, start.setting)) >= {"drop:1", "turn:crank:1", "lean:1"}
    assert motion_of(sheet, start.setting) is motion_of(sheet, start.setting)
