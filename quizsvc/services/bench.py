"""The timing bench: open an engine, do something to it, and read where everything stands.

Nothing is stored: the state goes with the page. The bench of an item shows the same motion, less
the read-outs that would answer it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.figures import bench_cylinders, bench_drive, bench_traces
from quizsvc.figures.bench_parts import Drawing, Pose
from quizsvc.items.model import BenchStart, BenchTask
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services import practise
from quizsvc.services.bench_moves import known_drive
from quizsvc.services.bench_words import (
    CylinderReading,
    Hide,
    contacts_now,
    readings_of,
    slip_words,
    words_of,
)
from quizsvc.services.house import House
from quizsvc.services.practice_gate import own_offer, refuse_during_a_test
from quizsvc.services.shown import SheetChoice
from quizsvc.sheets.bench_columns import chain_place, moved_pitches, values_at
from quizsvc.sheets.bench_state import BenchState, Setting, motion_of
from quizsvc.sheets.drive_words import DriveWords, words_of_sheet
from quizsvc.sheets.schema import CautionKind, Drive, EngineSheet, Rotation
from quizsvc.sheets.state import layout_of
from quizsvc.store import sheets

_SHOWN = {CautionKind.INTERFERENCE, CautionKind.ROTATION}


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
        drive=known_drive(sheet, drive).id if drive else sheet.drives[0].id,
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


def hidden_in(start: BenchStart) -> Hide:
    """Return the read-outs that would answer the item."""
    if start.task is BenchTask.REFIT:
        return Hide.MARKS
    return Hide.PISTONS | Hide.VALVES


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


def _known_cylinder(cylinders: tuple[int, ...], chosen: int) -> int:
    if chosen not in cylinders:
        raise InputError(
            "this engine has no such cylinder.",
            field="cylinder",
            value=chosen,
            remedy=f"Choose one from {cylinders[0]} to {cylinders[-1]}.",
        )
    return chosen
