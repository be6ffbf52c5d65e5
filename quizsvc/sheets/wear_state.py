"""From what a sheet states to wear: tensioner travel and cam retard as the chains grow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from quizsvc.errors import InputError
from quizsvc.sheets.schema import Drive, EngineSheet, Tensioner
from quizsvc.sheets.state import (
    KEPT,
    Drawn,
    cam_ratio,
    drive_of,
    drive_path_of,
    driven_by,
    wheel_index,
    wheel_of,
)
from quizsvc.timing.tensioner import Plunger, travel_for_growth_mm
from quizsvc.timing.wear import loop_growth_mm, wear_retard_deg


def tensioner_of(drive: Drive) -> Tensioner:
    """Return the tensioner of a drive.

    Raises:
        InputError: the drive has none.
    """
    if drive.tensioner is None:
        raise InputError("the drive has no tensioner.", field="drive", value=drive.id)
    return drive.tensioner


def plunger_of(drive: Drive) -> Plunger:
    """Return the tensioner's plunger: extension when new, groove, longest.

    Raises:
        InputError: the drive has no tensioner, or one without a plunger.
    """
    stated = tensioner_of(drive)
    new, groove, longest = stated.extension_new_mm, stated.groove_at_mm, stated.longest_mm
    if new is None or groove is None or longest is None:
        raise InputError("the tensioner states no plunger.", field="drive", value=drive.id)
    return Plunger(new, groove, longest)


def press_direction_deg(sheet: EngineSheet, drive_id: str) -> float:
    """Return the way in which a tensioner presses, clockwise from straight up, in [0, 360).

    From the centre of its wheel or shoe to the middle of the chain on it.
    """
    drive, path = drive_of(sheet, drive_id), drive_path_of(sheet, drive_id)
    arc = path.arcs[wheel_index(drive, tensioner_of(drive).wheel)]
    way = 1 if path.turns_clockwise(arc.wheel) else -1
    return (arc.start_deg + way * abs(arc.wrap_deg) / 2) % 360


def plunger_at_mm(sheet: EngineSheet, drive_id: str, elongation_percent: float) -> float:
    """Return the plunger's extension once the whole chain has grown by so much.

    The shoe is taken to move as far as the plunger, straight along its press direction.

    Raises:
        InputError: the chain is then past what the tensioner can take up.
    """
    drive = drive_of(sheet, drive_id)
    plunger = plunger_of(drive)
    growth = loop_growth_mm(drive.pins, drive.pitch_mm, elongation_percent)
    travel = travel_for_growth_mm(
        drive_path_of(sheet, drive_id),
        wheel_index(drive, tensioner_of(drive).wheel),
        press_direction_deg(sheet, drive_id),
        growth,
        plunger.longest_mm - plunger.extension_new_mm,
    )
    return plunger.extension_new_mm + travel


@lru_cache(KEPT)
def tight_strand_mm(sheet: EngineSheet, drive_id: str, wheel_id: str) -> float:
    """Return the free chain that the driver pulls between it and a driven wheel.

    From the wheel, in the running direction, to the driver; chain on toothed wheels between
    them is left out, since there the links sit tooth by tooth.
    """
    drive, path = drive_of(sheet, drive_id), drive_path_of(sheet, drive_id)
    here, end = wheel_index(drive, wheel_id), wheel_index(drive, drive.driver)
    length = 0.0
    while here != end:
        length += path.spans[here].length_mm
        here = (here + 1) % len(drive.wheels)
        if drive.wheels[here].teeth is None:
            length += path.arcs[here].length_mm
    return length


def stages_of(sheet: EngineSheet, shaft_id: str) -> Iterator[Drawn]:
    """Yield the driven wheel of each stage from a shaft back to the crankshaft."""
    stage = driven_by(sheet, shaft_id)
    while stage is not None:
        yield stage
        stage = driven_by(sheet, wheel_of(stage.drive, stage.drive.driver).shaft or "")


def retard_of(
    sheet: EngineSheet, shaft_id: str, *, elongation_percent: float | None = None
) -> float:
    """Return crank degrees by which a shaft lags once the chains that turn it have grown.

    Every chain has grown by ``elongation_percent``, or, left out, to its own limit. First order.
    A toothed belt does not grow: its cords keep their length until they break.

    Raises:
        InputError: no drive turns the shaft.
    """
    total = 0.0
    for stage in stages_of(sheet, shaft_id):
        drive = stage.drive
        if drive.kind == "belt":
            continue
        grown = drive.elongation_limit_percent if elongation_percent is None else elongation_percent
        at_half_speed = wear_retard_deg(
            tight_strand_mm(sheet, drive.id, stage.wheel.id),
            grown,
            drive.pitch_mm,
            stage.wheel.teeth or 0,
        )
        # The core's formula takes half speed; an intermediate shaft turns at its own.
        total += at_half_speed * 0.5 / abs(cam_ratio(sheet, stage.wheel.shaft or ""))
    return total
