"""The state of the bench in words, for screen readers and for the page without script.

One source for both. An item that asks for some of it leaves that out (`Hide`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Flag, auto
from fractions import Fraction
from math import lcm

from quizsvc.sheets.bench_columns import (
    TURN,
    advances_of,
    chain_place,
    moved_pitches,
    values_at,
)
from quizsvc.sheets.bench_deeds import touches
from quizsvc.sheets.bench_state import BenchState, Setting, motion_of, wheel_key
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import Drive, EngineSheet
from quizsvc.sheets.state import cams_of, layout_of, shafts_behind
from quizsvc.sheets.valve_state import VALVES, drive_tooth_deg, valve_room_of, valves_may_meet_from
from quizsvc.timing.cycle import CYCLE_DEG, stroke_at
from quizsvc.timing.motion import Contact
from quizsvc.timing.valves import ValveKind

OPEN_MM = 0.005  # off its seat by more than this counts as open
AT_MARKS_DEG = 0.5


class Hide(Flag):
    """What an item must not say."""

    NOTHING = 0
    MARKS = auto()  # whether chains are in time
    PISTONS = auto()  # strokes, drops and gaps
    VALVES = auto()  # which valves are open, and their gaps


@dataclass(frozen=True, slots=True)
class CylinderReading:
    """What the read-out says of one cylinder."""

    cylinder: int
    stroke: str
    drop_mm: float
    lift_mm: dict[ValveKind, float]


def words_of(sheet: EngineSheet, state: BenchState, hide: Hide = Hide.NOTHING) -> tuple[str, ...]:
    """Return the state in sentences, contact first since it matters most."""
    said = [*_contact_words(sheet, state), _crank_words(state)]
    if Hide.PISTONS not in hide:
        said += [_stroke_words(sheet, state), _shallowest_words(sheet, state)]
    if Hide.VALVES not in hide:
        said += [_valve_words(sheet, state)]
        said += _gap_words(sheet, state) if Hide.PISTONS not in hide else []
    said += _off_words(sheet, state)
    if Hide.MARKS not in hide:
        said += _mark_words(sheet, state)
    return tuple(said)


def readings_of(sheet: EngineSheet, state: BenchState) -> tuple[CylinderReading, ...]:
    """Return stroke, piston and valves of every cylinder."""
    values, firing = values_at(sheet, state), layout_of(sheet).firing_deg
    return tuple(
        CylinderReading(
            cylinder,
            stroke_at(firing[cylinder], state.crank_deg).value,
            values[f"drop:{cylinder}"],
            {valve: values.get(f"lift:{cylinder}:{valve}", 0.0) for valve in VALVES},
        )
        for cylinder in layout_of(sheet).cylinders
    )


def contacts_now(sheet: EngineSheet, state: BenchState) -> tuple[Contact, ...]:
    """Return the contacts at which the crank stands."""
    found = motion_of(sheet, state.setting).contacts
    return tuple(contact for contact in found if touches(contact, state.crank_deg))


def contact_words(contact: Contact, at: str) -> str:
    """Say which valve of which cylinder meets its piston, and where."""
    return (
        f"Contact: the {contact.valve} valve of cylinder {contact.cylinder} meets its piston at "
        f"{at} of the crankshaft."
    )


def angle(deg: float) -> str:
    """Write an angle with a decimal only where it has one."""
    return f"{deg:.1f}".removesuffix(".0").replace("-", "\N{MINUS SIGN}") + "°"


def slip_words(sheet: EngineSheet, drive: Drive, teeth: int) -> str:
    """Say how a drive is timed."""
    if not teeth:
        return "in time"
    unit = "tooth" if abs(teeth) == 1 else "teeth"
    way = "late (retarded)" if teeth > 0 else "early (advanced)"
    off = abs(teeth) * drive_tooth_deg(sheet, drive.id)
    return f"{abs(teeth)} {unit} {way}, {angle(round(off, 1))} of crank"


def _contact_words(sheet: EngineSheet, state: BenchState) -> Iterator[str]:
    for contact in contacts_now(sheet, state):
        yield contact_words(contact, angle(state.crank_deg))


def _crank_words(state: BenchState) -> str:
    return f"Crankshaft at {angle(state.crank_deg)}, counted from firing TDC of cylinder 1."


def _stroke_words(sheet: EngineSheet, state: BenchState) -> str:
    strokes = [f"{one.cylinder} {one.stroke}" for one in readings_of(sheet, state)]
    return f"Strokes by cylinder: {', '.join(strokes)}."


def _shallowest_words(sheet: EngineSheet, state: BenchState) -> str:
    least = min(readings_of(sheet, state), key=lambda one: one.drop_mm)
    return f"Shallowest piston: cylinder {least.cylinder}, {least.drop_mm:.1f} mm below TDC."


def _valve_words(sheet: EngineSheet, state: BenchState) -> str:
    opened = [
        f"{valve} {one.cylinder} ({_lift_words(one.lift_mm[valve])})"
        for one in readings_of(sheet, state)
        for valve in VALVES
        if one.lift_mm[valve] > OPEN_MM
    ]
    return f"Open valves: {', '.join(opened)}." if opened else "All valves are closed."


def _lift_words(lift_mm: float) -> str:
    return f"{lift_mm:.1f} mm" if lift_mm >= 0.05 else "just off its seat"


def _gap_words(sheet: EngineSheet, state: BenchState) -> list[str]:
    gaps = [
        (valve_room_of(sheet, valve).gap_from_mm(one.drop_mm, one.lift_mm[valve]), one, valve)
        for one in readings_of(sheet, state)
        for valve in VALVES
        if one.lift_mm[valve] > OPEN_MM
    ]
    if not gaps:
        return []
    gap, one, valve = min(gaps, key=lambda found: found[0])
    where = f"{valve} valve of cylinder {one.cylinder}, {max(0.0, gap):.1f} mm"
    return [f"Smallest gap between an open valve and its piston: {where}."]


def _off_words(sheet: EngineSheet, state: BenchState) -> list[str]:
    if state.setting.off is None:
        return []
    drive = next(d for d in sheet.drives if d.id == state.setting.off.drive)
    still = [cam.title for cam in cams_of(sheet) if cam.id in shafts_behind(sheet, drive.id)]
    return [f"{drive.title} is off: {_listed(still)} stand{'s' if len(still) == 1 else ''} still."]


def _mark_words(sheet: EngineSheet, state: BenchState) -> Iterator[str]:
    off = state.setting.off
    for drive in sheet.drives:
        if off is not None and off.drive == drive.id:
            continue
        yield f"{drive.title}: {slip_words(sheet, drive, state.setting.teeth(drive.id))}."
    yield from _valve_meeting_words(sheet, state)
    if state.setting.slipped or off is not None:
        return
    at, cycles = sheet.marks_position.crank_deg, marks_every_cycles(sheet)
    period, wheel = cycles * CYCLE_DEG, words_of_sheet(sheet).wheel
    apart = abs((state.turned_deg - at + period / 2) % period - period / 2)
    if apart <= AT_MARKS_DEG:
        yield f"The {wheel} marks are in line with their pointers."
        yield from _link_words(sheet, state)
    else:
        often = f", once in {2 * cycles} crank turns" if cycles > 1 else ""
        yield f"The {wheel} marks come in line at {angle(at)}{often}."


def _valve_meeting_words(sheet: EngineSheet, state: BenchState) -> Iterator[str]:
    """Warn where a slip may bring two valves together, if the sheet says that they can meet."""
    for drive in sheet.drives:
        teeth = state.setting.teeth(drive.id)
        meet = teeth and valves_may_meet_from(sheet, drive.id, way=1 if teeth > 0 else -1)
        if meet and abs(teeth) >= meet:
            title = drive.title[0].lower() + drive.title[1:]
            yield (
                f"With the {title} so far out, open intake and exhaust valves of one cylinder may "
                "meet each other; the bench does not stop for that."
            )


def marks_every_cycles(sheet: EngineSheet) -> int:
    """Return after how many cycles all wheels' marks stand in line again; 1 for most engines."""
    marked = {
        f"{TURN}{wheel_key(drive, wheel)}"
        for drive in sheet.drives
        for wheel in drive.wheels
        if wheel.mark
    }
    return lcm(
        *(
            Fraction(gained / 360).limit_denominator(1000).denominator
            for name, gained in advances_of(sheet, Setting()).items()
            if name in marked
        )
    )


def _link_words(sheet: EngineSheet, state: BenchState) -> Iterator[str]:
    """Say whether marked links stand at the marks, as they do only every so many turns."""
    for drive in sheet.drives:
        if not drive.marked_links:
            continue
        place = chain_place(sheet, state.setting, drive)
        since = moved_pitches(place, state.turned_deg - sheet.marks_position.crank_deg)
        away = round(since) % drive.pins
        marked = "lines on" if drive.kind == "belt" else "marked links of"
        what = f"The {marked} the {drive.title[0].lower()}{drive.title[1:]}"
        if away == 0:
            yield f"{what} stand at the marks."
        else:
            yield f"{what} stand {away} pitches on from the marks."


def _listed(things: list[str]) -> str:
    if len(things) <= 1:
        return "".join(things)
    return f"{', '.join(things[:-1])} and {things[-1]}"
