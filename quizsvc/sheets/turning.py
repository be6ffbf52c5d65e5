"""Who turns whom, and how fast: from the crankshaft over every drive of a sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from quizsvc.errors import InputError
from quizsvc.sheets.lookup import crank_of, drive_of, wheel_of
from quizsvc.sheets.schema import Drive, EngineSheet, Shaft, ShaftKind, Wheel

KEPT = 128  # sheets


@dataclass(frozen=True, slots=True)
class Drawn:
    """A toothed wheel with the drive it belongs to and its place in that drive's order."""

    drive: Drive
    index: int
    wheel: Wheel


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


def turned_by_back(sheet: EngineSheet, shaft: Shaft) -> bool:
    """Say whether a belt turns a pump by a plain pulley, through friction and of no exact ratio."""
    return shaft.kind is ShaftKind.PUMP and any(
        drive.kind == "belt" and wheel.shaft == shaft.id and wheel.teeth is None
        for drive in sheet.drives
        for wheel in drive.wheels
    )


def roller_turns(sheet: EngineSheet, drive: Drive, wheel: Wheel) -> float:
    """Return turns per crank turn of a plain round wheel that a drive turns without slip.

    Negative against the crankshaft. Its radius counts to the belt's pitch line, since that keeps
    its length where the belt bends.

    Raises:
        InputError: the wheel has no radius, or nothing turns the drive.
    """
    if wheel.radius_mm is None:
        raise InputError("the wheel has no radius.", field="wheel", value=wheel.id)
    driver = wheel_of(drive, drive.driver)
    passed_mm = (driver.teeth or 0) * drive.pitch_mm * cam_ratio(sheet, driver.shaft or "")
    way = 1 if wheel.contact == driver.contact else -1
    return way * passed_mm / (math.tau * wheel.radius_mm)


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
