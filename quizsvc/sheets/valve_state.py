"""From what a sheet states to valves over their pistons, in time and slipped."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import ceil
from typing import get_args

from quizsvc.errors import NotFoundError
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import (
    KEPT,
    cam_for,
    cam_ratio,
    drive_of,
    events_of,
    layout_of,
    shafts_behind,
    slider_of,
    wheel_of,
)
from quizsvc.timing.clearance import LeastGap, ValveRoom, room_mm
from quizsvc.timing.lift import LiftCurve, lift_curve
from quizsvc.timing.phaser import Phaser
from quizsvc.timing.slip import FirstContact, SlipTolerance, slip_tolerance, valves_may_meet
from quizsvc.timing.valves import ValveKind

VALVES: tuple[ValveKind, ...] = get_args(ValveKind)


@lru_cache(KEPT)
def lift_curve_of(sheet: EngineSheet, valve: ValveKind) -> LiftCurve:
    """Return the lift of a valve over its cylinder's cycle, the phaser parked."""
    stated = sheet.valves
    lift = stated.intake_lift_mm if valve == "intake" else stated.exhaust_lift_mm
    return lift_curve(events_of(sheet), valve, lift, at_lift_mm=stated.events.at_lift_mm)


@lru_cache(KEPT)
def valve_room_of(sheet: EngineSheet, valve: ValveKind) -> ValveRoom:
    """Return a valve over its piston: lift, room at TDC and tilt."""
    piston, stated = sheet.piston, sheet.valves
    if valve == "intake":
        recess, pocket, tilt = (
            stated.intake_recess_mm,
            stated.intake_pocket_mm,
            stated.intake_tilt_deg,
        )
    else:
        recess, pocket, tilt = (
            stated.exhaust_recess_mm,
            stated.exhaust_pocket_mm,
            stated.exhaust_tilt_deg,
        )
    room = room_mm(recess, pocket, gasket_mm=piston.gasket_mm, deck_mm=piston.deck_mm)
    return ValveRoom(valve, lift_curve_of(sheet, valve), room, tilt)


@lru_cache(KEPT)
def least_gap_of(sheet: EngineSheet, valve: ValveKind) -> LeastGap:
    """Return the least gap between valve and piston in time, over the phaser's whole range."""
    room, slider = valve_room_of(sheet, valve), slider_of(sheet)
    if valve == "intake" and sheet.valves.phaser_range_deg:
        phaser = Phaser("intake", advance_deg=sheet.valves.phaser_range_deg)
        return phaser.least_gap(room, slider)
    return room.least_gap(slider)


def customary_gap_mm(sheet: EngineSheet, valve: ValveKind) -> float:
    """Return the gap that the sheet asks for."""
    stated = sheet.valves
    return stated.least_intake_gap_mm if valve == "intake" else stated.least_exhaust_gap_mm


def can_touch(sheet: EngineSheet, valve: ValveKind) -> bool:
    """Say whether the valve at full lift reaches a piston at TDC, whatever the timing."""
    room = valve_room_of(sheet, valve)
    return (
        room.gap_mm(slider_of(sheet), room.curve.peak_deg)
        - slider_of(sheet).drop_mm(room.curve.peak_deg)
        <= 0
    )


def drive_tooth_deg(sheet: EngineSheet, drive_id: str) -> float:
    """Return crank degrees by which one tooth of slip on a drive puts out what it turns.

    The same for every wheel of the drive, since one pitch of chain passes each of them.
    """
    drive = drive_of(sheet, drive_id)
    driver = wheel_of(drive, drive.driver)
    return 360 / (driver.teeth or 1) / abs(cam_ratio(sheet, driver.shaft or ""))


def valves_behind(sheet: EngineSheet, drive_id: str) -> dict[ValveKind, tuple[int, ...]]:
    """Return the cylinders whose valves go out of time when a drive slips."""
    behind = set(shafts_behind(sheet, drive_id))
    cylinders = layout_of(sheet).cylinders
    found = {
        valve: tuple(c for c in cylinders if _cam_is_in(sheet, c, valve, behind))
        for valve in VALVES
    }
    return {valve: served for valve, served in found.items() if served}


@lru_cache(KEPT)
def slip_tolerance_of(sheet: EngineSheet, drive_id: str) -> SlipTolerance | None:
    """Return how many teeth a drive may slip before a valve meets a piston; None: no valve on it.

    The crank is turned forward from the marks position; the phaser is parked.
    """
    found = list(_tolerances(sheet, drive_id))
    if not found:
        return None
    return SlipTolerance(
        min(one.advanced_teeth for one in found),
        min(one.retarded_teeth for one in found),
        _soonest(sheet, [one.advanced_contact for one in found]),
        _soonest(sheet, [one.retarded_contact for one in found]),
    )


def valves_may_meet_from(sheet: EngineSheet, drive_id: str, *, way: int) -> int | None:
    """Return after how many teeth of slip two valves of one cylinder may meet; None: never.

    ``way`` is 1 for retarded, -1 for advanced. Only where the sheet says that they can meet.
    """
    moved = valves_behind(sheet, drive_id)
    if not sheet.valves.valves_can_meet or not moved:
        return None
    if moved.get("intake") == moved.get("exhaust"):
        return None  # both cams move alike
    tooth = drive_tooth_deg(sheet, drive_id)
    in_time = (lift_curve_of(sheet, "intake"), lift_curve_of(sheet, "exhaust"))
    for teeth in range(1, ceil(720 / tooth)):
        shift = way * teeth * tooth
        slipped = (
            in_time[0].retarded(shift if "intake" in moved else 0),
            in_time[1].retarded(shift if "exhaust" in moved else 0),
        )
        if valves_may_meet(in_time, slipped):
            return teeth
    return None


def _tolerances(sheet: EngineSheet, drive_id: str) -> Iterator[SlipTolerance]:
    firing = layout_of(sheet).firing_deg
    for valve, cylinders in valves_behind(sheet, drive_id).items():
        yield slip_tolerance(
            (valve_room_of(sheet, valve),),
            slider_of(sheet),
            {cylinder: firing[cylinder] for cylinder in cylinders},
            tooth_deg=drive_tooth_deg(sheet, drive_id),
            from_deg=sheet.marks_position.crank_deg,
        )


def _soonest(sheet: EngineSheet, contacts: list[FirstContact | None]) -> FirstContact | None:
    """Return the contact after the fewest teeth; among equals the one met first."""
    start = sheet.marks_position.crank_deg
    real = [contact for contact in contacts if contact is not None]
    return min(
        real, key=lambda met: (abs(met.teeth_off), (met.crank_deg - start) % 720), default=None
    )


def _cam_is_in(sheet: EngineSheet, cylinder: int, valve: ValveKind, shafts: set[str]) -> bool:
    try:
        return cam_for(sheet, cylinder, valve).id in shafts
    except NotFoundError:
        return False
