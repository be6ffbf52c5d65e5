"""Valves over pistons, in time and slipped, against brute force over the whole cycle."""

import math

import pytest
from hypothesis import given, settings
from valid_sheets import SHIPPED, VEE_EIGHT, VEE_SIX, edited, shipped, valid_sheets

from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import events_of, layout_of, slider_of
from quizsvc.sheets.valve_state import (
    VALVES,
    can_touch,
    drive_tooth_deg,
    least_gap_of,
    lift_curve_of,
    slip_tolerance_of,
    valve_room_of,
    valves_behind,
    valves_may_meet_from,
)


def law(part: float) -> float:
    """The 3-4-5 polynomial (Norton, Design of Machinery)."""
    return 10 * part**3 - 15 * part**4 + 6 * part**5


def gap_by_hand(sheet: EngineSheet, valve: str, own_deg: float, shift_deg: float) -> float:
    """Gap along the bore, written out from the sheet's numbers; events at the seat."""
    events, valves, piston = sheet.valves.events, sheet.valves, sheet.piston
    if valve == "intake":
        opens, lasts = 360 - events.ivo_btdc, events.ivo_btdc + 180 + events.ivc_abdc
    else:
        opens, lasts = 180 - events.evo_bbdc, events.evo_bbdc + 180 + events.evc_atdc
    past = (own_deg - opens - shift_deg) % 720
    half = lasts / 2
    part = past / half if past <= half else max(0.0, (lasts - past) / half)
    lift = getattr(valves, f"{valve}_lift_mm") * law(part)
    tilt = math.radians(getattr(valves, f"{valve}_tilt_deg"))
    throw, rod = piston.stroke_mm / 2, piston.rod_mm
    angle = math.radians(own_deg)
    drop = (
        throw + rod - throw * math.cos(angle) - math.sqrt(rod**2 - (throw * math.sin(angle)) ** 2)
    )
    room = getattr(valves, f"{valve}_recess_mm") + getattr(valves, f"{valve}_pocket_mm")
    return drop + room + piston.gasket_mm + piston.deck_mm - lift * math.cos(tilt)


def least_by_hand(sheet: EngineSheet, valve: str, shift_deg: float = 0.0) -> float:
    return min(gap_by_hand(sheet, valve, angle / 2, shift_deg) for angle in range(1440))


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("valve", VALVES)
def test_the_gap_is_that_written_out_from_the_sheet(name, valve):
    sheet = shipped(name)
    room = valve_room_of(sheet, valve)

    for own_deg in range(0, 720, 15):
        gap = room.gap_mm(slider_of(sheet), own_deg)
        assert gap == pytest.approx(gap_by_hand(sheet, valve, own_deg, 0.0))


@given(valid_sheets())
@settings(max_examples=15, deadline=None)
def test_the_least_gap_is_the_least_of_all_angles_and_phaser_positions(sheet: EngineSheet):
    """Brute force near the exhaust TDC, where alone the valves stand open over a high piston."""
    for valve in VALVES:
        reach = int(sheet.valves.phaser_range_deg) if valve == "intake" else 0
        events = events_of(sheet)
        by_hand = min(
            gap_by_hand(sheet, valve, angle / 2, -shift)
            for shift in range(0, reach + 1, 2)
            for angle in range(2 * 290, 2 * 430)
            if events.is_open(valve, angle / 2 + shift)
        )

        assert least_gap_of(sheet, valve).gap_mm == pytest.approx(by_hand, abs=0.05)


@pytest.mark.parametrize("name", SHIPPED)
def test_slip_tolerance_is_that_of_trying_each_tooth(name):
    """Brute force: shift the lift tooth by tooth and sample the gap each half degree."""
    sheet = shipped(name)
    for drive in sheet.drives:
        tooth = drive_tooth_deg(sheet, drive.id)
        moved = valves_behind(sheet, drive.id)
        tolerance = slip_tolerance_of(sheet, drive.id)
        for way, teeth in ((-1, tolerance.advanced_teeth), (1, tolerance.retarded_teeth)):
            free = [least_by_hand(sheet, v, way * n * tooth) > 0
                    for n in range(1, teeth + 1) for v in moved]  # fmt: skip
            assert all(free)
            assert min(least_by_hand(sheet, v, way * (teeth + 1) * tooth) for v in moved) <= 0


@pytest.mark.parametrize("name", SHIPPED)
def test_the_first_contact_is_a_touch_of_the_named_valve(name):
    sheet = shipped(name)
    firing = layout_of(sheet).firing_deg
    for drive in sheet.drives:
        tooth = drive_tooth_deg(sheet, drive.id)
        tolerance = slip_tolerance_of(sheet, drive.id)
        for contact in (tolerance.advanced_contact, tolerance.retarded_contact):
            own = contact.crank_deg - firing[contact.cylinder]
            gap = gap_by_hand(sheet, contact.valve, own, contact.teeth_off * tooth)
            assert gap <= 1e-6
            assert contact.cylinder in valves_behind(sheet, drive.id)[contact.valve]


def test_one_tooth_of_a_drive_is_worth_the_same_on_each_of_its_wheels():
    """720/N on a half-speed camshaft sprocket."""
    assert drive_tooth_deg(shipped(), "timing") == pytest.approx(720 / 36)
    assert drive_tooth_deg(shipped(VEE_EIGHT), "bank-a") == pytest.approx(720 / 30)
    assert drive_tooth_deg(shipped(VEE_SIX), "secondary-a") == pytest.approx(720 / 24)


def test_a_slipped_secondary_chain_puts_out_one_kind_of_valve_on_one_bank():
    assert valves_behind(shipped(VEE_SIX), "secondary-b") == {"exhaust": (2, 4, 6)}
    assert set(valves_behind(shipped(VEE_SIX), "primary")) == {"intake", "exhaust"}


def test_a_valve_reaches_the_piston_if_its_lift_is_more_than_the_room_at_tdc():
    assert can_touch(shipped(), "intake")
    assert not can_touch(edited(valves__intake_recess_mm=7.3), "intake")  # room 9.3 mm, lift 9.04


def test_valves_of_one_cylinder_may_meet_once_the_exhaust_cam_lags():
    sheet = shipped(VEE_SIX)

    assert valves_may_meet_from(sheet, "secondary-a", way=1) == 1
    assert valves_may_meet_from(sheet, "primary", way=1) is None  # both cams move alike


def test_valves_that_cannot_meet_are_not_said_to():
    sheet = edited(VEE_SIX, valves__valves_can_meet=False)

    assert valves_may_meet_from(sheet, "secondary-a", way=1) is None


def test_events_at_a_checking_lift_are_met_at_that_lift():
    curve = lift_curve_of(edited(valves__events__at_lift_mm=1.0), "intake")

    assert curve.lift_mm(360 - 12) == pytest.approx(1.0)
    assert curve.lift_mm(540 + 48) == pytest.approx(1.0)
