"""What can be done to an engine on the bench, and which states of it are possible."""

from __future__ import annotations

from enum import StrEnum

from quizsvc.errors import InputError
from quizsvc.items.model import BenchStart
from quizsvc.services.bench_words import marks_every_cycles
from quizsvc.sheets import bench_deeds as deeds
from quizsvc.sheets.bench_state import BenchState, Off, Setting
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import Drive, EngineSheet
from quizsvc.sheets.state import drive_of
from quizsvc.timing.cycle import CYCLE_DEG

FARTHEST_DEG = deeds.FARTHEST_DEG


class Deed(StrEnum):
    """What can be done on the bench."""

    TURN = "turn"
    TO_MARKS = "turn to the marks"
    TO_SAFE = "turn to the safe position"
    SLIP = "slip"
    TAKE_OFF = "take off"
    REFIT = "refit"


def checked(sheet: EngineSheet, state: BenchState) -> BenchState:
    """Return the state if this engine can have it.

    Raises:
        InputError: the angle is out of reach, the slip too large, or there is no such chain.
    """
    _within_reach("crank", state.turned_deg)
    if state.setting.off is not None:
        _within_reach("off", state.setting.off.at_deg)
    named = [drive for drive, _ in state.setting.slipped]
    named += [state.setting.off.drive] if state.setting.off else []
    for drive in named:
        known_drive(sheet, drive)
    if any(abs(teeth) > deeds.MOST_TEETH for _, teeth in state.setting.slipped):
        raise InputError(
            f"no {words_of_sheet(sheet).loop} slips so many teeth.",
            field="slip",
            value=max(state.setting.slipped, key=lambda one: abs(one[1]))[1],
            remedy=f"Give at most {deeds.MOST_TEETH} teeth.",
        )
    return state


def do(
    sheet: EngineSheet, state: BenchState, deed: Deed, *, by: float = 0.0, drive: str = ""
) -> BenchState:
    """Return the state after a deed; the crank stops where a valve touches its piston.

    Raises:
        InputError: it cannot be done here; says why.
    """
    match deed:
        case Deed.TURN:
            return deeds.turn(sheet, state, by).state
        case Deed.TO_MARKS:
            meet_after = marks_every_cycles(sheet) * CYCLE_DEG
            ahead = (sheet.marks_position.crank_deg - state.turned_deg) % meet_after
            return deeds.turn(sheet, state, ahead).state
        case Deed.TO_SAFE:
            ahead = (sheet.safe_position.atdc_deg - state.crank_deg) % 360
            return deeds.turn(sheet, state, ahead).state
        case Deed.SLIP:
            return deeds.slip(sheet, state, known_drive(sheet, drive).id, round(by))
        case Deed.TAKE_OFF:
            return deeds.take_off(sheet, state, known_drive(sheet, drive).id)
        case Deed.REFIT:
            return deeds.refit(sheet, state)


def put_on_bench(start: BenchStart, *, moved: int = 0, turned_deg: float | None = None,
                 off: Off | None = None) -> BenchState:  # fmt: skip
    """Return the state of an item's bench: as it was put, plus what the person did to it.

    ``moved`` are teeth; the page never says by how many the chain was off at first.
    """
    turned = start.crank_deg if turned_deg is None else turned_deg
    setting = Setting((), off)
    if start.drive:
        setting = setting.with_teeth(start.drive, start.teeth_off + moved)
    return BenchState(turned, setting)


def _within_reach(field: str, turned_deg: float) -> None:
    if not abs(turned_deg) <= FARTHEST_DEG:  # so that NaN is refused too
        raise InputError(
            "the bench is not turned as far as that.",
            field=field,
            value=turned_deg,
            remedy=f"Give an angle from \N{MINUS SIGN}{FARTHEST_DEG:.0f} to {FARTHEST_DEG:.0f}°.",
        )


def known_drive(sheet: EngineSheet, drive_id: str) -> Drive:
    if any(drive.id == drive_id for drive in sheet.drives):
        return drive_of(sheet, drive_id)
    raise InputError(
        f"this engine has no such {words_of_sheet(sheet).loop}.",
        field="chain",
        value=drive_id[:60],
        remedy=f"Choose one of: {', '.join(drive.id for drive in sheet.drives)}.",
    )
