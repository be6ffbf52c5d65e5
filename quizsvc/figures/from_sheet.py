"""The front view of a drive as an engine sheet states it, at any crank angle."""

from __future__ import annotations

from quizsvc.figures.drive_state import DriveView, ViewWheel
from quizsvc.sheets.schema import Drive, EngineSheet, Wheel, WheelPart
from quizsvc.sheets.state import (
    drive_of,
    mark_direction_deg,
    runs_clockwise,
    shaft_of,
    wheel_index,
    wheel_radius_mm,
)


def drive_view(
    sheet: EngineSheet,
    drive_id: str,
    *,
    crank_deg: float | None = None,
    counted: tuple[str, str] | None = None,
    extension_mm: float = -1.0,
    letters: bool = False,
    note: str = "",
) -> DriveView:
    """Return the view of one drive.

    Args:
        sheet: the engine.
        drive_id: which of its drives.
        crank_deg: where the crankshaft stands; the marks position when left out. Marked links
            are shown in the marks position only, since they come back after many turns.
        counted: two wheel ids between whose marks the pins are drawn solid.
        extension_mm: the tensioner's extension; negative leaves its plunger out.
        letters: write A, B, C instead of the wheels' names.
        note: a sentence for the caption.
    """
    drive = drive_of(sheet, drive_id)
    at_marks = crank_deg is None or crank_deg == sheet.marks_position.crank_deg
    here = sheet.marks_position.crank_deg if crank_deg is None else crank_deg
    names = _names(sheet, drive)
    wheels = tuple(
        ViewWheel(
            name=names[wheel.id],
            x_mm=wheel.x_mm,
            y_mm=wheel.y_mm,
            radius_mm=wheel_radius_mm(drive, wheel),
            teeth=wheel.teeth or 0,
            back=wheel.contact == "back",
            part=str(wheel.part),
            mark_deg=None
            if wheel.mark is None
            else mark_direction_deg(sheet, drive, wheel.id, here),
            label="ABCDEFGHJKLMNPQ"[number % 15] if letters else "",
        )
        for number, wheel in enumerate(drive.wheels)
    )
    return DriveView(
        wheels,
        runs_clockwise(sheet, drive),
        drive.pitch_mm,
        driver=wheel_index(drive, drive.driver),
        marked_pins=drive.marked_links if at_marks else (),
        counted=None if counted is None else (names[counted[0]], names[counted[1]]),
        extension_mm=extension_mm,
        groove_at_mm=_stated(drive.tensioner.groove_at_mm if drive.tensioner else None),
        note=note,
        belt=drive.kind == "belt",
    )


def _stated(mm: float | None) -> float:
    return -1.0 if mm is None else mm


def _names(sheet: EngineSheet, drive: Drive) -> dict[str, str]:
    """Name toothed wheels after their shafts, the others after what they do."""
    return {wheel.id: _name(sheet, wheel) for wheel in drive.wheels}


def _name(sheet: EngineSheet, wheel: Wheel) -> str:
    if wheel.shaft is not None:
        title = shaft_of(sheet, wheel.shaft).title
        return title[0].lower() + title[1:]
    if wheel.part is WheelPart.SPROCKET:
        return wheel.id.replace("-", " ")
    return str(wheel.part)
