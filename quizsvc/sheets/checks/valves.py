"""Valve events against lift, and lift against the piston."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.errors import InputError
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.sound import Sound
from quizsvc.sheets.state import events_of
from quizsvc.sheets.valve_state import (
    VALVES,
    can_touch,
    customary_gap_mm,
    least_gap_of,
    lift_curve_of,
)
from quizsvc.timing.valves import ValveEvents, ValveKind

DURATION_DEG = (170.0, 340.0)  # from memory: 190 to 320 at the seat
LIFT_TO_HEAD = (0.15, 0.45)  # from memory: a quarter of the head's diameter opens it fully
SEPARATION_CAM_DEG = (90.0, 130.0)  # from memory: 98 to 120
STEEPEST_MM_PER_DEG = 0.35  # from memory: tappets of usual size allow no steeper lobe


def check_valves(sound: Sound) -> Iterator[Finding]:
    yield from _heads(sound)
    if sound.events is None:
        yield from _events_refused(sound)
        return
    yield from _separation(sound, sound.events)
    for valve in VALVES:
        yield from _lift(sound, valve)
    if sound.slider is None:
        return
    for valve in VALVES:
        yield from _clearance(sound, valve)
    yield from _interference(sound)


def _heads(sound: Sound) -> Iterator[Finding]:
    valves, bore = sound.sheet.valves, sound.sheet.piston.bore_mm
    if valves.intake_head_mm + valves.exhaust_head_mm >= bore:
        yield error(
            ("valves", "intake_head_mm"),
            valves.intake_head_mm,
            f"intake and exhaust valve heads ({valves.intake_head_mm:g} + "
            f"{valves.exhaust_head_mm:g} mm) do not fit beside each other in a bore of "
            f"{bore:g} mm.",
            "Check the head diameters and the bore.",
        )


def _events_refused(sound: Sound) -> Iterator[Finding]:
    try:
        events_of(sound.sheet)
    except InputError as fault:
        yield error(
            ("valves", "events", fault.field or ""),
            fault.value,
            fault.problem,
            "Check the signs: negative means the other side of the dead centre.",
        )


def _separation(sound: Sound, events: ValveEvents) -> Iterator[Finding]:
    separation = events.lobe_separation_cam_deg
    if not SEPARATION_CAM_DEG[0] <= separation <= SEPARATION_CAM_DEG[1]:
        yield warning(
            ("valves", "events"),
            sound.sheet.valves.events.model_dump(),
            f"the lobe separation comes to {separation:.1f} cam degrees.",
            "Check the signs of the events; they are crank degrees.",
        )


def _lift(sound: Sound, valve: ValveKind) -> Iterator[Finding]:
    place = ("valves", f"{valve}_lift_mm")
    lift = getattr(sound.sheet.valves, f"{valve}_lift_mm")
    head = getattr(sound.sheet.valves, f"{valve}_head_mm")
    try:
        curve = lift_curve_of(sound.sheet, valve)
    except InputError as fault:
        yield error(
            ("valves", "events", "at_lift_mm"),
            sound.sheet.valves.events.at_lift_mm,
            f"{fault.field} {fault.problem}",
            "Check at what lift the events are stated.",
        )
        return
    duration = curve.duration_deg
    if not DURATION_DEG[0] <= duration <= DURATION_DEG[1]:
        yield warning(
            ("valves", "events"),
            duration,
            f"the {valve} valve is open for {duration:.0f} crank degrees.",
            "Check the signs of the events; they are crank degrees.",
        )
    steepest = curve.velocity_mm_per_deg(curve.open_deg + duration / 4)
    if steepest > STEEPEST_MM_PER_DEG:
        yield warning(
            place,
            lift,
            f"with {duration:.0f}° of opening the lobe would rise by {steepest:.2f} mm per crank "
            "degree.",
            "Check lift and events against each other.",
        )
    if not LIFT_TO_HEAD[0] <= lift / head <= LIFT_TO_HEAD[1]:
        yield warning(
            place,
            lift,
            f"the lift is {lift / head:.2f} of the head's diameter; usual is about 0.25.",
            "Check lift and head diameter.",
        )


def _clearance(sound: Sound, valve: ValveKind) -> Iterator[Finding]:
    try:
        gap = least_gap_of(sound.sheet, valve)
    except InputError:
        return  # said already of the lift
    wanted = customary_gap_mm(sound.sheet, valve)
    place = ("valves", f"{valve}_pocket_mm")
    value = getattr(sound.sheet.valves, f"{valve}_pocket_mm")
    where = f"{gap.own_deg:.0f}° after the cylinder's firing TDC"
    if gap.gap_mm <= 0:
        yield error(
            place,
            value,
            f"in time, the {valve} valve would run {-gap.gap_mm:.2f} mm into the piston at "
            f"{where}.",
            "Check lift, events, recess, pocket, gasket and deck.",
        )
    elif gap.gap_mm < wanted:
        yield warning(
            place,
            value,
            f"the least gap between {valve} valve and piston is {gap.gap_mm:.2f} mm at {where}, "
            f"less than the {wanted:.2f} mm asked for.",
            "Check lift, events, recess, pocket, gasket and deck.",
        )


def _interference(sound: Sound) -> Iterator[Finding]:
    try:
        touching = [valve for valve in VALVES if can_touch(sound.sheet, valve)]
    except InputError:
        return
    stated = sound.sheet.valves.interference
    if touching and not stated:
        yield error(
            ("valves", "interference"),
            stated,
            f"at full lift the {' and the '.join(touching)} valve reaches a piston at TDC, so "
            "this is an interference engine.",
            "State true, and give the caution; or check lift and pockets.",
        )
    elif stated and not touching:
        yield warning(
            ("valves", "interference"),
            stated,
            "no valve at full lift reaches a piston at TDC.",
            "State false if the maker's information says so; else check lift and pockets.",
        )
