"""The live check of a sheet while it is being typed: findings by field, and the figures anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quizsvc.errors import QuizsvcError
from quizsvc.figures import cylinder_phases, drive_view, event_circle, lift_curves
from quizsvc.figures.event_circle import EventCircle
from quizsvc.figures.from_sheet import drive_view as drive_state
from quizsvc.figures.lift_curves import LiftCurves, LiftOf
from quizsvc.figures.scene import Scene
from quizsvc.items.cylinder_figure import phases_at
from quizsvc.items.engine import engine_of
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.finding import Severity
from quizsvc.sheets.loading import sheet_from
from quizsvc.sheets.problems import Problem, SheetError, shown_value
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.valve_state import valve_room_of
from quizsvc.timing.valves import ValveKind

UNREADABLE = "cannot be read"  # worse than an error of the check: there is no sheet yet


@dataclass(frozen=True, slots=True)
class Said:
    """One finding, beside the field that it is about."""

    severity: str  # "cannot be read", "error" or "warning"
    field: str  # as in the file: "drives[1].wheels[3].teeth"
    value: str
    message: str
    remedy: str

    @property
    def hinders(self) -> bool:
        """Return whether the sheet cannot be published because of it."""
        return self.severity != Severity.WARNING


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure of the sheet, or why it cannot be drawn."""

    title: str
    scene: Scene | None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of the check; without a sheet there is nothing to draw."""

    sheet: EngineSheet | None
    said: tuple[Said, ...]

    @property
    def hindrances(self) -> tuple[Said, ...]:
        return tuple(one for one in self.said if one.hinders)


def check_content(
    actor: Actor, content: Mapping[str, Any], unread: tuple[Problem, ...] = ()
) -> Checked:
    """Check what a form states; ``unread`` are fields whose text was no number or date."""
    require(actor, May.WRITE_SHEETS)
    try:
        sheet = sheet_from(content)
    except SheetError as fault:
        known = {problem.field for problem in unread}
        more = [problem for problem in fault.problems if problem.field not in known]
        return Checked(None, tuple(_problem(one) for one in (*unread, *more)))
    if unread:
        return Checked(None, tuple(_problem(one) for one in unread))
    return Checked(sheet, findings_of(sheet))


def findings_of(sheet: EngineSheet) -> tuple[Said, ...]:
    """Return what the check by computation finds, errors first."""
    return tuple(
        Said(one.severity.value, one.field, _shown(one.value), one.message, one.remedy)
        for one in check_sheet(sheet)
    )


def drawings_of(sheet: EngineSheet, *, drive: int = 0) -> tuple[Drawing, ...]:
    """Return one drive, the pistons at the marks position and the events, drawn anew."""
    chosen = sheet.drives[drive if 0 <= drive < len(sheet.drives) else 0] if sheet.drives else None
    drawings = [] if chosen is None else [_drive(sheet, chosen.id, chosen.title)]
    return (*drawings, *_cylinders(sheet))


def all_drawings_of(sheet: EngineSheet) -> tuple[Drawing, ...]:
    """Return every drive, the pistons, the events and the lift curves."""
    drives = tuple(_drive(sheet, drive.id, drive.title) for drive in sheet.drives)
    curves = _drawn("Lift of the valves", lambda: lift_curves.draw(_curves(sheet), solution=True))
    return (*drives, *_cylinders(sheet), curves)


def _cylinders(sheet: EngineSheet) -> Iterator[Drawing]:
    here = sheet.marks_position.crank_deg
    yield _drawn(
        "Pistons in the marks position",
        lambda: cylinder_phases.draw(phases_at(sheet, engine_of(sheet), here, shown=True)),
    )
    events = sheet.valves.events
    yield _drawn(
        "Valve events",
        lambda: event_circle.draw(
            EventCircle(events.ivo_btdc, events.ivc_abdc, events.evo_bbdc, events.evc_atdc)
        ),
    )


def _drive(sheet: EngineSheet, drive_id: str, title: str) -> Drawing:
    return _drawn(title, lambda: drive_view.draw(drive_state(sheet, drive_id)))


def _drawn(title: str, draw: Callable[[], Scene]) -> Drawing:
    try:
        return Drawing(title, draw())
    except QuizsvcError as refusal:
        return Drawing(title, None, f"Not drawn: {refusal.problem}")


def _curves(sheet: EngineSheet) -> LiftCurves:
    piston = sheet.piston
    return LiftCurves(
        _lift_of(sheet, "intake"),
        _lift_of(sheet, "exhaust"),
        piston.stroke_mm,
        piston.rod_mm,
        pin_offset_mm=piston.pin_offset_mm,
    )


def _lift_of(sheet: EngineSheet, valve: ValveKind) -> LiftOf:
    room = valve_room_of(sheet, valve)
    curve = room.curve
    return LiftOf(curve.open_deg, curve.close_deg, curve.max_lift_mm, room.room_mm, room.tilt_deg)


def _problem(problem: Problem) -> Said:
    value = "" if problem.value is None else _shown(problem.value)
    where = f"Line {problem.line}: " if problem.line else ""
    return Said(UNREADABLE, problem.field, value, f"{where}{problem.message}", problem.remedy)


def _shown(value: object) -> str:
    if isinstance(value, Mapping):
        return ""
    return value[:60] if isinstance(value, str) else shown_value(value)
