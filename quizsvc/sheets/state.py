"""From what a sheet states to the objects of the timing core.

Look-ups by name and the ratios of shafts live in modules of their own and are offered here too,
so that families and figures have one place to import from. Results are kept for the sheets last
asked about, since thousands of items are drawn from one sheet; all of them are frozen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from quizsvc.errors import InputError
from quizsvc.sheets.lookup import (
    cam_for,
    cams_of,
    crank_of,
    drive_of,
    shaft_of,
    wheel_index,
    wheel_of,
)
from quizsvc.sheets.schema import Drive, EngineSheet, MarkPins, Rotation, Wheel
from quizsvc.sheets.turning import (
    Drawn,
    cam_ratio,
    driven_by,
    driven_turns,
    exact_cam_ratio,
    roller_turns,
    shaft_turns,
    shafts_behind,
    stages_to,
    tooth_crank_deg,
    turned_by_back,
    wheels_of_shaft,
)
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.crank import SliderCrank, compression_ratio, cylinder_cc, displacement_cc
from quizsvc.timing.cycle import CylinderLayout, CylinderPlace
from quizsvc.timing.marks import mark_angle_deg
from quizsvc.timing.path import DrivePath, PathWheel
from quizsvc.timing.valves import ValveEvents

__all__ = [
    "KEPT",
    "CountedMarks",
    "Drawn",
    "cam_for",
    "cam_ratio",
    "cams_of",
    "compression_ratio_of",
    "count_marks",
    "counted_marks",
    "crank_of",
    "displacement_cc_of",
    "drive_of",
    "drive_path_of",
    "driven_by",
    "driven_turns",
    "events_of",
    "exact_cam_ratio",
    "layout_of",
    "loop_pitches",
    "mark_direction_deg",
    "marked_deg",
    "pitches_between",
    "roller_turns",
    "runs_clockwise",
    "shaft_of",
    "shaft_turns",
    "shafts_behind",
    "slider_of",
    "stages_to",
    "tooth_crank_deg",
    "turned_by_back",
    "wheel_index",
    "wheel_of",
    "wheel_radius_mm",
    "wheels_of_shaft",
]

KEPT = 128  # sheets, or drives of sheets


@dataclass(frozen=True, slots=True)
class CountedMarks:
    """A pin count that the sheet states, and the pitches there are between the two marks."""

    stated: MarkPins
    pitches: float

    @property
    def off_pitches(self) -> float:
        """Computed less stated: positive when the path is longer than the sheet says."""
        return self.pitches - self.stated.pins


@lru_cache(KEPT)
def layout_of(sheet: EngineSheet) -> CylinderLayout:
    """Return the cylinders with banks, crankpins and firing order."""
    banks = {bank.id: bank.angle_deg for bank in sheet.layout.banks}
    places = (
        CylinderPlace(cylinder.number, banks[cylinder.bank], cylinder.pin_deg)
        for cylinder in sheet.layout.cylinders
    )
    return CylinderLayout(tuple(places), sheet.layout.firing_order)


@lru_cache(KEPT)
def slider_of(sheet: EngineSheet) -> SliderCrank:
    """Return stroke, rod and pin offset of one cylinder."""
    piston = sheet.piston
    return SliderCrank(piston.stroke_mm, piston.rod_mm, piston.pin_offset_mm)


@lru_cache(KEPT)
def events_of(sheet: EngineSheet) -> ValveEvents:
    """Return the valve events, of the intake with its phaser parked (fully retarded)."""
    events = sheet.valves.events
    return ValveEvents(events.ivo_btdc, events.ivc_abdc, events.evo_bbdc, events.evc_atdc)


def displacement_cc_of(sheet: EngineSheet) -> float:
    """Return the volume swept by all pistons."""
    piston = sheet.piston
    return displacement_cc(piston.bore_mm, piston.stroke_mm, len(sheet.layout.cylinders))


def compression_ratio_of(sheet: EngineSheet) -> float:
    """Return the geometric compression ratio.

    Raises:
        InputError: no room is left above the piston.
    """
    piston = sheet.piston
    return compression_ratio(
        displacement_cc(piston.bore_mm, piston.stroke_mm),
        piston.chamber_cc,
        gasket_cc=cylinder_cc(piston.gasket_bore_mm, piston.gasket_mm),
        deck_cc=cylinder_cc(piston.bore_mm, piston.deck_mm),
        dish_cc=piston.dish_cc,
    )


def wheel_radius_mm(drive: Drive, wheel: Wheel) -> float:
    """Return the radius at which the chain's pins, or the belt's cords, lie on the wheel.

    A chain's pins stand on a polygon, hence p / (2 sin(π/N)); a belt bends round, hence Np/2π.
    """
    if wheel.teeth is None:
        return float(wheel.radius_mm or 0.0)
    if drive.kind == "belt":
        return wheel.teeth * drive.pitch_mm / math.tau
    return pitch_diameter_mm(drive.pitch_mm, wheel.teeth) / 2


@lru_cache(KEPT)
def drive_path_of(sheet: EngineSheet, drive_id: str) -> DrivePath:
    """Return the path of a chain or belt over its wheels, seen from the chain end.

    Raises:
        InputError: no chain can lie so.
    """
    drive = drive_of(sheet, drive_id)
    wheels = tuple(
        PathWheel(w.x_mm, w.y_mm, wheel_radius_mm(drive, w), back=w.contact == "back")
        for w in drive.wheels
    )
    return DrivePath(wheels, clockwise=runs_clockwise(sheet, drive))


def runs_clockwise(sheet: EngineSheet, drive: Drive) -> bool:
    """Say whether the loop runs clockwise, seen from the chain end."""
    driver = wheel_of(drive, drive.driver)
    turns = shaft_turns(sheet).get(driver.shaft or "", Fraction(1))
    with_crank = (turns > 0) == (driver.contact == "inside")
    return with_crank == (sheet.layout.rotation is Rotation.CLOCKWISE)


def loop_pitches(sheet: EngineSheet, drive_id: str) -> float:
    """Return how many pitches of chain or belt the path takes."""
    drive, path = drive_of(sheet, drive_id), drive_path_of(sheet, drive_id)
    return (
        path.belt_pitches(drive.pitch_mm) if drive.kind == "belt" else path.pitches(drive.pitch_mm)
    )


def pitches_between(
    sheet: EngineSheet, drive_id: str, start: tuple[str, float], end: tuple[str, float]
) -> float:
    """Return pitches along the running chain from one (wheel id, direction) to another.

    Directions in degrees clockwise from straight up. In (0, whole loop].

    Raises:
        InputError: the chain does not lie on a wheel there.
    """
    drive, path = drive_of(sheet, drive_id), drive_path_of(sheet, drive_id)
    ends = ((wheel_index(drive, wheel), at_deg) for wheel, at_deg in (start, end))
    if drive.kind == "belt":
        first, last = (path.distance_of(i, at) / drive.pitch_mm for i, at in ends)
    else:
        first, last = (path.pitches_to(i, at, drive.pitch_mm) for i, at in ends)
    whole = loop_pitches(sheet, drive_id)
    between = (last - first) % whole
    return between if between > 1e-9 else whole


def counted_marks(sheet: EngineSheet, drive_id: str) -> tuple[CountedMarks, ...]:
    """Return each stated pin count of a drive beside the pitches between its two marks.

    Raises:
        InputError: a mark stands where the chain does not lie on its wheel.
    """
    drive = drive_of(sheet, drive_id)
    return tuple(count_marks(sheet, drive, stated) for stated in drive.mark_pins)


def count_marks(sheet: EngineSheet, drive: Drive, stated: MarkPins) -> CountedMarks:
    """Return one stated pin count beside the pitches between its two marks."""
    start, end = (
        (wheel_id, marked_deg(drive, wheel_id)) for wheel_id in (stated.from_wheel, stated.to_wheel)
    )
    return CountedMarks(stated, pitches_between(sheet, drive.id, start, end))


def marked_deg(drive: Drive, wheel_id: str) -> float:
    """Return where a wheel's mark stands in the marks position."""
    mark = wheel_of(drive, wheel_id).mark
    if mark is None:
        raise InputError("the wheel has no mark.", field="wheel", value=wheel_id)
    return mark.at_deg


def mark_direction_deg(sheet: EngineSheet, drive: Drive, wheel_id: str, crank_deg: float) -> float:
    """Return where a wheel's mark stands at a crank angle, clockwise from straight up.

    In [0, 360), seen from the chain end.
    """
    turned = crank_deg - sheet.marks_position.crank_deg
    way = 1 if sheet.layout.rotation is Rotation.CLOCKWISE else -1
    ratio = float(exact_cam_ratio(sheet, wheel_of(drive, wheel_id).shaft or ""))
    return mark_angle_deg(marked_deg(drive, wheel_id), way * turned, ratio)
