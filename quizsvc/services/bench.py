"""The timing bench: open an engine, do something to it, and read where everything stands.

Nothing is stored: the state goes with the page. The bench of an item shows the same motion, less
the read-outs that would answer it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import lru_cache

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.figures import bench_cylinders, bench_drive, bench_traces
from quizsvc.figures.bench_parts import Drawing, Pose
from quizsvc.items.model import BenchStart, BenchTask
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services import practise
from quizsvc.services.bench_words import (
    CylinderReading,
    Hide,
    contact_words,
    contacts_now,
    marks_every_cycles,
    readings_of,
    slip_words,
    words_of,
)
from quizsvc.services.house import House
from quizsvc.services.practice_gate import own_offer, refuse_during_a_test
from quizsvc.services.shown import SheetChoice
from quizsvc.sheets import bench_deeds as deeds
from quizsvc.sheets.bench_columns import (
    TURN,
    advances_of,
    chain_place,
    columns_of,
    moved_pitches,
    values_at,
)
from quizsvc.sheets.bench_state import KEPT, STEP_DEG, BenchState, Off, Setting, motion_of
from quizsvc.sheets.drive_words import DriveWords, words_of_sheet
from quizsvc.sheets.schema import CautionKind, Drive, EngineSheet, Rotation
from quizsvc.sheets.state import drive_of, layout_of
from quizsvc.store import sheets
from quizsvc.timing.cycle import CYCLE_DEG, Stroke

FARTHEST_DEG = deeds.FARTHEST_DEG
_SHOWN = {CautionKind.INTERFERENCE, CautionKind.ROTATION}
HUNDREDTHS = 100  # columns go to the page as whole hundredths


class Deed(StrEnum):
    """What can be done on the bench."""

    TURN = "turn"
    TO_MARKS = "turn to the marks"
    TO_SAFE = "turn to the safe position"
    SLIP = "slip"
    TAKE_OFF = "take off"
    REFIT = "refit"


@dataclass(frozen=True, slots=True)
class DriveChoice:
    """A chain on the bench and how it stands."""

    drive_id: str
    title: str
    words: str
    off: bool


@dataclass(frozen=True, slots=True)
class Bench:
    """The bench as shown: drawings, words and what can be done."""

    sheet_id: str
    title: str
    revision: int
    invented: bool
    state: BenchState
    chosen: int
    drive: str
    cylinders: tuple[int, ...]
    drives: tuple[DriveChoice, ...]
    words: tuple[str, ...]
    readings: tuple[CylinderReading, ...]  # none where an item hides them
    contact: bool
    cautions: tuple[str, ...]
    drawings: tuple[tuple[Drawing, Pose], ...]
    clockwise: bool  # which way the crank runs, seen from the chain end
    called: DriveWords  # chain and sprockets, or belt and pulleys


def engines(house: House, actor: Actor, *, now: datetime) -> tuple[SheetChoice, ...]:  # noqa: ARG001
    """Return the engines that can be put on the bench."""
    require(actor, May.PRACTISE)
    with house.read() as connection:
        refuse_during_a_test(connection, actor)
        rows = sheets.latest_published(connection, actor.shop_id)
    return tuple(SheetChoice(row.sheet_id, row.title, row.revision) for row in rows)


def sheet_on_bench(house: House, actor: Actor, sheet_id: str) -> EngineSheet:
    """Return the newest published revision of a sheet the actor may use.

    Raises:
        NotFoundError: there is none.
        ConflictError: the actor sits a timed test, which the bench would answer.
    """
    require(actor, May.PRACTISE)
    with house.read() as connection:
        refuse_during_a_test(connection, actor)
        return _sheet(house, connection, actor, sheet_id)


def bench_in_item(
    house: House, actor: Actor, token: str, *, now: datetime
) -> tuple[EngineSheet, BenchStart]:
    """Return the sheet and the start of the bench in an offered item.

    Raises:
        NotFoundError: no such offer for this actor, or its item has no bench.
    """
    start = practise.open_offer(house, actor, token, now=now).bench
    with house.read() as connection:
        offered, _ = own_offer(connection, actor, token)
        if start is None or offered.sheet_revision_id is None:
            raise NotFoundError("this question has no bench.", field="question", value=token[:40])
        return house.shelf.sheet(connection, offered.sheet_revision_id), start


def start_of(sheet: EngineSheet) -> BenchState:
    """Return the state in which the bench is opened: the marks position."""
    return BenchState(sheet.marks_position.crank_deg)


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
        _known_drive(sheet, drive)
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
            return deeds.slip(sheet, state, _known_drive(sheet, drive).id, round(by))
        case Deed.TAKE_OFF:
            return deeds.take_off(sheet, state, _known_drive(sheet, drive).id)
        case Deed.REFIT:
            return deeds.refit(sheet, state)


def bench_of(
    sheet: EngineSheet,
    state: BenchState,
    *,
    chosen: int | None = None,
    drive: str = "",
    hide: Hide = Hide.NOTHING,
) -> Bench:
    """Return the bench in a state, ready to show."""
    cylinders = layout_of(sheet).cylinders
    cylinder = cylinders[0] if chosen is None else _known_cylinder(cylinders, chosen)
    pose = _pose(sheet, state, cylinder)
    drawn = [bench_drive.drawing(sheet), bench_cylinders.row(sheet), bench_cylinders.section(sheet)]
    traces = bench_traces.drawing(sheet)
    return Bench(
        sheet_id=sheet.id,
        title=sheet.title,
        revision=sheet.revision,
        invented=sheet.invented,
        state=state,
        chosen=cylinder,
        drive=_known_drive(sheet, drive).id if drive else sheet.drives[0].id,
        cylinders=cylinders,
        drives=tuple(_drive_choice(sheet, state.setting, one, hide) for one in sheet.drives),
        words=words_of(sheet, state, hide),
        readings=() if hide else readings_of(sheet, state),
        contact=bool(contacts_now(sheet, state)),
        cautions=tuple(caution.text for caution in sheet.cautions if caution.kind in _SHOWN),
        drawings=tuple((drawing, pose) for drawing in [*drawn, traces] if drawing is not None),
        clockwise=sheet.layout.rotation is Rotation.CLOCKWISE,
        called=words_of_sheet(sheet),
    )


@lru_cache(KEPT)
def motion_for_page(sheet: EngineSheet, setting: Setting) -> dict[str, object]:
    """Return the motion of the engine, so set, as plain values for the page's script.

    ``columns`` hold whole hundredths of mm or degrees, a row per ``step_deg`` of the crank.
    """
    table = motion_of(sheet, setting)
    return {
        "sheet": sheet.id,
        "revision": sheet.revision,
        "step_deg": STEP_DEG,
        "columns": {
            name: [round(value * HUNDREDTHS) for value in column]
            for name, column in columns_of(sheet, setting).items()
        },
        "wraps": TURN,
        "advances_deg": dict(advances_of(sheet, setting)),
        "chains": {drive.id: _chain(sheet, setting, drive) for drive in sheet.drives},
        "contacts": [
            {
                "name": bench_cylinders.contact_name(contact.cylinder, contact.valve),
                "from_deg": round(contact.from_deg, 2),
                "to_deg": round(contact.to_deg, 2),
                "words": contact_words(contact, "{angle}"),
            }
            for contact in table.contacts
        ],
        "signals": bench_traces.signal_paths(sheet, table.signals),
        "strokes": [stroke.value for stroke in Stroke],
        "firing_deg": {str(c): deg for c, deg in layout_of(sheet).firing_deg.items()},
    }


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


def hidden_in(start: BenchStart) -> Hide:
    """Return the read-outs that would answer the item."""
    if start.task is BenchTask.REFIT:
        return Hide.MARKS
    return Hide.PISTONS | Hide.VALVES


def _chain(sheet: EngineSheet, setting: Setting, drive: Drive) -> dict[str, object]:
    place = chain_place(sheet, setting, drive)
    return {
        "off": place.off,
        "runs": place.runs,
        "pitches": round(place.pitches, 4),
        "per_cycle": place.per_cycle,
    }


def _pose(sheet: EngineSheet, state: BenchState, chosen: int) -> Pose:
    chains = {drive.id: chain_place(sheet, state.setting, drive) for drive in sheet.drives}
    shown = {
        bench_cylinders.contact_name(one.cylinder, one.valve) for one in contacts_now(sheet, state)
    }
    return Pose(
        values_at(sheet, state),
        {
            name: None if place.off else moved_pitches(place, state.turned_deg)
            for name, place in chains.items()
        },
        frozenset(shown),
        chosen,
        state.crank_deg,
        bench_traces.signal_paths(sheet, motion_of(sheet, state.setting).signals),
    )


def _drive_choice(sheet: EngineSheet, setting: Setting, drive: Drive, hide: Hide) -> DriveChoice:
    off = setting.off is not None and setting.off.drive == drive.id
    words = "" if Hide.MARKS in hide else slip_words(sheet, drive, setting.teeth(drive.id))
    return DriveChoice(drive.id, drive.title, "off" if off else words, off)


def _sheet(house: House, connection: Connection, actor: Actor, sheet_id: str) -> EngineSheet:
    for revision in sheets.latest_published(connection, actor.shop_id):
        if revision.sheet_id == sheet_id:
            return house.shelf.sheet(connection, revision.id)
    raise NotFoundError(
        "there is no such engine for you.",
        field="engine",
        value=sheet_id[:60],
        remedy="Choose one from the list.",
    )


def _within_reach(field: str, turned_deg: float) -> None:
    if not abs(turned_deg) <= FARTHEST_DEG:  # so that NaN is refused too
        raise InputError(
            "the bench is not turned as far as that.",
            field=field,
            value=turned_deg,
            remedy=f"Give an angle from \N{MINUS SIGN}{FARTHEST_DEG:.0f} to {FARTHEST_DEG:.0f}°.",
        )


def _known_drive(sheet: EngineSheet, drive_id: str) -> Drive:
    if any(drive.id == drive_id for drive in sheet.drives):
        return drive_of(sheet, drive_id)
    raise InputError(
        f"this engine has no such {words_of_sheet(sheet).loop}.",
        field="chain",
        value=drive_id[:60],
        remedy=f"Choose one of: {', '.join(drive.id for drive in sheet.drives)}.",
    )


def _known_cylinder(cylinders: tuple[int, ...], chosen: int) -> int:
    if chosen not in cylinders:
        raise InputError(
            "this engine has no such cylinder.",
            field="cylinder",
            value=chosen,
            remedy=f"Choose one from {cylinders[0]} to {cylinders[-1]}.",
        )
    return chosen
