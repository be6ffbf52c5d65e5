"""From what a sheet states to the objects of the timing core.

Results are kept for the sheets last asked about, since thousands of items are drawn from one
sheet; all of them are frozen.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from quizsvc.errors import InputError, NotFoundError
from quizsvc.sheets.schema import (
    Drive,
    EngineSheet,
    MarkPins,
    Rotation,
    Shaft,
    ShaftKind,
    Wheel,
)
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.crank import SliderCrank, compression_ratio, cylinder_cc, displacement_cc
from quizsvc.timing.cycle import CylinderLayout, CylinderPlace
from quizsvc.timing.marks import mark_angle_deg
from quizsvc.timing.path import DrivePath, PathWheel
from quizsvc.timing.valves import ValveEvents, ValveKind

KEPT = 128  # sheets, or drives of sheets


@dataclass(frozen=True, slots=True)
class Drawn:
    """A toothed wheel with the drive it belongs to and its place in that drive's order."""

    drive: Drive
    index: int
    wheel: Wheel


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


def drive_of(sheet: EngineSheet, drive_id: str) -> Drive:
    """Return the drive with this id."""
    for drive in sheet.drives:
        if drive.id == drive_id:
            return drive
    raise NotFoundError("the sheet has no such drive.", field="drive", value=drive_id)


def shaft_of(sheet: EngineSheet, shaft_id: str) -> Shaft:
    """Return the shaft with this id."""
    for shaft in sheet.shafts:
        if shaft.id == shaft_id:
            return shaft
    raise NotFoundError("the sheet has no such shaft.", field="shaft", value=shaft_id)


def crank_of(sheet: EngineSheet) -> Shaft:
    """Return the crankshaft."""
    return next(shaft for shaft in sheet.shafts if shaft.kind is ShaftKind.CRANK)


def cams_of(sheet: EngineSheet) -> tuple[Shaft, ...]:
    """Return the camshafts, as listed."""
    return tuple(shaft for shaft in sheet.shafts if shaft.kind is ShaftKind.CAM)


def cam_for(sheet: EngineSheet, cylinder: int, valve: ValveKind) -> Shaft:
    """Return the camshaft that opens the named valve of a cylinder."""
    bank = next(c.bank for c in sheet.layout.cylinders if c.number == cylinder)
    for shaft in cams_of(sheet):
        if valve in shaft.carries and shaft.bank in {bank, None}:
            return shaft
    raise NotFoundError(
        f"no camshaft carries the {valve} lobe of cylinder {cylinder}.",
        field="shafts",
        value=cylinder,
    )


def wheel_index(drive: Drive, wheel_id: str) -> int:
    """Return the place of a wheel in the running order of its drive."""
    for index, wheel in enumerate(drive.wheels):
        if wheel.id == wheel_id:
            return index
    raise NotFoundError("the drive has no such wheel.", field="wheel", value=wheel_id)


def wheel_of(drive: Drive, wheel_id: str) -> Wheel:
    """Return the wheel with this id."""
    return drive.wheels[wheel_index(drive, wheel_id)]


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


@lru_cache(KEPT)
def shaft_turns(sheet: EngineSheet) -> Mapping[str, Fraction]:
    """Return turns per crank turn of every shaft that a chain of drives reaches, the crank's 1.

    Negative where a shaft turns against the crank. Where two drives reach one shaft the first
    found counts; the check compares them.
    """
    turns = {crank_of(sheet).id: Fraction(1)}
    waiting = list(sheet.drives)
    while ready := [d for d in waiting if wheel_of(d, d.driver).shaft in turns]:
        for drive in ready:
            for shaft_id, ratio in driven_turns(drive, turns).items():
                turns.setdefault(shaft_id, ratio)
            waiting.remove(drive)
    return MappingProxyType(turns)


def driven_turns(drive: Drive, turns: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Return turns per crank turn that a drive gives each shaft on it, its driver's being known."""
    driver = wheel_of(drive, drive.driver)
    at_driver = turns[driver.shaft or ""]
    return {
        wheel.shaft: at_driver
        * Fraction(driver.teeth or 1, wheel.teeth)
        * (1 if wheel.contact == driver.contact else -1)
        for wheel in drive.wheels
        if wheel.shaft is not None and wheel.teeth is not None
    }


def exact_cam_ratio(sheet: EngineSheet, shaft_id: str) -> Fraction:
    """Return turns of a shaft per crank turn, exactly; a half for a camshaft.

    Raises:
        InputError: no drive turns the shaft.
    """
    try:
        return shaft_turns(sheet)[shaft_id]
    except KeyError:
        raise InputError(
            "no chain of drives from the crankshaft turns this shaft.",
            field="shaft",
            value=shaft_id,
            remedy="Put a wheel of it on a drive whose driver turns.",
        ) from None


def cam_ratio(sheet: EngineSheet, shaft_id: str) -> float:
    """Return turns of a shaft per crank turn, 0.5 for a camshaft."""
    return float(exact_cam_ratio(sheet, shaft_id))


def wheels_of_shaft(sheet: EngineSheet, shaft_id: str) -> tuple[Drawn, ...]:
    """Return every toothed wheel on a shaft, drive by drive."""
    return tuple(
        Drawn(drive, index, wheel)
        for drive in sheet.drives
        for index, wheel in enumerate(drive.wheels)
        if wheel.shaft == shaft_id and wheel.teeth is not None
    )


def driven_by(sheet: EngineSheet, shaft_id: str) -> Drawn | None:
    """Return the wheel through which a shaft is turned; None for the crankshaft."""
    for drawn in wheels_of_shaft(sheet, shaft_id):
        if drawn.wheel.id != drawn.drive.driver:
            return drawn
    return None


def stages_to(sheet: EngineSheet, shaft_id: str) -> tuple[tuple[int, int], ...]:
    """Return (driving, driven) teeth of each stage from the crankshaft to a shaft.

    Raises:
        InputError: no drive turns the shaft.
    """
    exact_cam_ratio(sheet, shaft_id)
    stages: list[tuple[int, int]] = []
    here = driven_by(sheet, shaft_id)
    while here is not None:
        driver = wheel_of(here.drive, here.drive.driver)
        stages.append((driver.teeth or 0, here.wheel.teeth or 0))
        here = driven_by(sheet, driver.shaft or "")
    return tuple(reversed(stages))


def shafts_behind(sheet: EngineSheet, drive_id: str) -> tuple[str, ...]:
    """Return the shafts that stand still when this drive is off, nearest first."""
    drive = drive_of(sheet, drive_id)
    found = [w.shaft for w in drive.wheels if w.teeth and w.shaft and w.id != drive.driver]
    for shaft_id in found:  # grows while it is gone through
        for other in sheet.drives:
            if wheel_of(other, other.driver).shaft == shaft_id and other.id != drive_id:
                found += [s for s in shafts_behind(sheet, other.id) if s not in found]
    return tuple(found)


def tooth_crank_deg(sheet: EngineSheet, wheel: Wheel) -> float:
    """Return by how many crank degrees one tooth of a wheel puts its shaft out; 720/N on a cam.

    Raises:
        InputError: the wheel has no teeth or turns no shaft.
    """
    if wheel.teeth is None or wheel.shaft is None:
        raise InputError("the wheel has no teeth.", field="wheel", value=wheel.id)
    return 360 / wheel.teeth / abs(cam_ratio(sheet, wheel.shaft))
