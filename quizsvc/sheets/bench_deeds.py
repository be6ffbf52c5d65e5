"""What a person does on the timing bench: turn the crank, slip, take off and refit a chain.

The crank is stopped where a valve would meet a piston; a chain is not put where they would
overlap at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

from quizsvc.errors import InputError
from quizsvc.sheets.bench_state import BenchState, Off, Setting, motion_of
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import cams_of, drive_of, shafts_behind, wheel_of
from quizsvc.sheets.valve_state import drive_tooth_deg
from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.motion import Contact

FARTHEST_DEG = 72_000.0  # a hundred cycles either way
MOST_TEETH = 400
TOUCH_DEG = 0.2  # nearer than this to where they meet counts as touching


@dataclass(frozen=True, slots=True)
class Turned:
    """Where the crank came to, and the contact that stopped it, if one did."""

    state: BenchState
    stopped_by: Contact | None = None


def turn(sheet: EngineSheet, state: BenchState, by_deg: float) -> Turned:
    """Turn the crank, at most up to where a valve touches its piston.

    Positive turns in running direction. From inside an overlap, where no engine could stand,
    only that overlap does not stop it.
    """
    way = 1 if by_deg >= 0 else -1
    stop, nearest = None, abs(by_deg)
    for contact in motion_of(sheet, state.setting).contacts:
        if overlaps(contact, state.crank_deg):
            continue
        ahead = _ahead_deg(contact, state.crank_deg, way)
        if ahead < nearest:
            stop, nearest = contact, ahead
    to = state.turned_deg + way * nearest
    to = round(to, 1) if stop is None else _tenth(to, way)
    return Turned(replace(state, turned_deg=_in_reach(to)), stop)


def slip(sheet: EngineSheet, state: BenchState, drive_id: str, teeth: int) -> BenchState:
    """Slip a chain: what it turns comes later by so many teeth, or earlier if negative.

    While that chain is off, its shafts are turned by hand so far.

    Raises:
        InputError: another chain is off, or a valve would meet a piston.
    """
    drive = drive_of(sheet, drive_id)
    if state.setting.off is not None and state.setting.off.drive != drive_id:
        _refuse_if_off(sheet, state.setting)
    slipped = _wrapped(sheet, drive_id, state.setting.teeth(drive_id) + teeth)
    there = _labelled(sheet, replace(state, setting=state.setting.with_teeth(drive_id, slipped)))
    _refuse_overlap(sheet, state, there, f"{drive.title}: that cannot be done here")
    return there


def take_off(sheet: EngineSheet, state: BenchState, drive_id: str) -> BenchState:
    """Take a chain off: the crank turns alone, and what the chain turned stands still.

    Raises:
        InputError: another chain is off already.
    """
    drive_of(sheet, drive_id)
    _refuse_if_off(sheet, state.setting)
    return replace(state, setting=replace(state.setting, off=Off(drive_id, state.turned_deg)))


def refit(sheet: EngineSheet, state: BenchState) -> BenchState:
    """Put the chain on again where the shafts stand, in the nearest whole tooth.

    Raises:
        InputError: no chain is off, or seating it would bring a valve and a piston together.
    """
    off = state.setting.off
    if off is None:
        raise InputError(
            f"no {words_of_sheet(sheet).loop} is off.",
            field="off",
            value="",
            remedy="Take one off first.",
        )
    tooth = drive_tooth_deg(sheet, off.drive)
    turned = round((state.turned_deg - off.at_deg) / tooth)
    teeth = _wrapped(sheet, off.drive, state.setting.teeth(off.drive) + turned)
    setting = replace(state.setting, off=None).with_teeth(off.drive, teeth)
    there = _labelled(sheet, replace(state, setting=setting))
    title = drive_of(sheet, off.drive).title
    _refuse_overlap(sheet, state, there, f"{title}: it cannot be laid on here")
    return there


def overlaps(contact: Contact, crank_deg: float) -> bool:
    """Say whether valve and piston would overlap at a crank angle, not merely touch."""
    into, left = _from_to(contact, crank_deg)
    return into > TOUCH_DEG and left > TOUCH_DEG and into + left < CYCLE_DEG


def touches(contact: Contact, crank_deg: float) -> bool:
    """Say whether valve and piston touch or would overlap at a crank angle."""
    into, _ = _from_to(contact, crank_deg + TOUCH_DEG)
    return into <= _length_deg(contact) + 2 * TOUCH_DEG


def _from_to(contact: Contact, crank_deg: float) -> tuple[float, float]:
    return (crank_deg - contact.from_deg) % CYCLE_DEG, (contact.to_deg - crank_deg) % CYCLE_DEG


def _length_deg(contact: Contact) -> float:
    return (contact.to_deg - contact.from_deg) % CYCLE_DEG


def _ahead_deg(contact: Contact, crank_deg: float, way: int) -> float:
    """Return degrees to where the contact begins, going this way; 0 while touching there."""
    begin = contact.from_deg if way > 0 else contact.to_deg
    ahead = way * (begin - crank_deg) % CYCLE_DEG
    return 0.0 if ahead > CYCLE_DEG - TOUCH_DEG else ahead


def _tenth(turned_deg: float, way: int) -> float:
    """Round to tenths, back from the contact rather than into it."""
    tenths = turned_deg * 10
    return (floor(tenths + 1e-6) if way > 0 else ceil(tenths - 1e-6)) / 10


def _in_reach(turned_deg: float) -> float:
    if abs(turned_deg) > FARTHEST_DEG:
        raise InputError(
            "the bench is not turned as far as that.",
            field="crank",
            value=turned_deg,
            remedy=f"Stay within {FARTHEST_DEG:g}° either way.",
        )
    return turned_deg


def _wrapped(sheet: EngineSheet, drive_id: str, teeth: int) -> int:
    """Bring teeth into half a cycle either way: a whole cycle late is in time."""
    per_cycle = round(CYCLE_DEG / drive_tooth_deg(sheet, drive_id))
    wrapped = teeth % per_cycle
    return wrapped - per_cycle if wrapped > per_cycle / 2 else wrapped


def _labelled(sheet: EngineSheet, state: BenchState) -> BenchState:
    """Count the crank a turn on where that alone explains the slip.

    The crank looks the same after one turn. An engine whose every cam is one crank turn late is
    in time, and its crank stands in the other half of the cycle.
    """
    drives = [
        drive.id
        for drive in sheet.drives
        if wheel_of(drive, drive.driver).shaft not in _driven(sheet)
    ]
    cams = {cam.id for cam in cams_of(sheet)}
    reached = {shaft for drive in drives for shaft in shafts_behind(sheet, drive)}
    late = [state.setting.teeth(d) * drive_tooth_deg(sheet, d) for d in drives]
    if not cams <= reached or not all(abs(deg) > 180 for deg in late):
        return state
    if len({deg > 0 for deg in late}) > 1:
        return state
    way, setting = (1 if late[0] > 0 else -1), state.setting
    for drive_id in drives:
        turn_teeth = way * round(360 / drive_tooth_deg(sheet, drive_id))
        setting = setting.with_teeth(drive_id, setting.teeth(drive_id) - turn_teeth)
    return BenchState(state.turned_deg - way * 360, setting)


def _driven(sheet: EngineSheet) -> set[str]:
    return {shaft for drive in sheet.drives for shaft in shafts_behind(sheet, drive.id)}


def _refuse_if_off(sheet: EngineSheet, setting: Setting) -> None:
    if setting.off is not None:
        title = drive_of(sheet, setting.off.drive).title
        raise InputError(
            f"{title[0].lower()}{title[1:]} is off.",
            field="off",
            value=setting.off.drive,
            remedy="Put it on again first.",
        )


def _refuse_overlap(sheet: EngineSheet, before: BenchState, after: BenchState, what: str) -> None:
    """Refuse to bring a valve into a piston; out of an overlap every way is open."""
    if overlap_at(sheet, before) is not None:
        return
    contact = overlap_at(sheet, after)
    if contact is not None:
        raise InputError(
            f"{what}, the {contact.valve} valve of cylinder {contact.cylinder} would be driven "
            "into its piston.",
            field="crank",
            value=after.crank_deg,
            remedy="Turn the crankshaft to the safe position first.",
        )


def overlap_at(sheet: EngineSheet, state: BenchState) -> Contact | None:
    """Return a contact inside which the crank stands, where no engine could."""
    found = motion_of(sheet, state.setting).contacts
    return next((one for one in found if overlaps(one, state.crank_deg)), None)
