"""Wheels and path of each drive: a chain must be able to lie on them so, and hold."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from quizsvc.errors import InputError
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.problems import Place
from quizsvc.sheets.schema import Drive, EngineSheet, ShaftKind, Wheel
from quizsvc.sheets.sound import Routed, Sound
from quizsvc.sheets.state import drive_path_of, wheel_index, wheel_radius_mm

SAME_MM = 0.05  # places nearer than this are the same place
LEAST_TEETH_IN_MESH = {"chain": 5.0, "belt": 6.0}  # of a driven wheel; from memory
LEAST_DRIVER_WRAP_DEG = 120.0  # of the sprocket that pulls; common practice, no source
LEAST_CONTACT_DEG = 0.2  # a shoe or guide that the chain bends less on does nothing


def check_paths(sound: Sound) -> Iterator[Finding]:
    yield from _shaft_places(sound.sheet)
    paths = {routed.drive.id: routed for routed in sound.routed}
    for index, drive in enumerate(sound.sheet.drives):
        place = ("drives", index)
        yield from _overlaps(place, drive)
        if drive.id in paths:
            yield from _wraps(paths[drive.id])
            yield from _tensioner_strand(place, drive)
        else:
            yield from _no_path(sound.sheet, place, drive)


def _shaft_places(sheet: EngineSheet) -> Iterator[Finding]:
    kinds = {shaft.id: shaft.kind for shaft in sheet.shafts}
    centres = {shaft.id: (0.0, 0.0) for shaft in sheet.shafts if shaft.kind is ShaftKind.CRANK}
    for i, drive in enumerate(sheet.drives):
        for j, wheel in enumerate(drive.wheels):
            if wheel.shaft is None:
                continue
            here = (wheel.x_mm, wheel.y_mm)
            centre = centres.setdefault(wheel.shaft, here)
            off = math.dist(here, centre)
            if off > SAME_MM:
                what = (
                    "the crankshaft" if kinds.get(wheel.shaft) is ShaftKind.CRANK else "its shaft"
                )
                yield error(
                    ("drives", i, "wheels", j, "x_mm"),
                    here,
                    f"wheel {wheel.id} stands {off:.2f} mm from the centre of {what} at {centre}.",
                    "All wheels of a shaft have one centre; the crankshaft's is (0, 0).",
                )


def _overlaps(place: Place, drive: Drive) -> Iterator[Finding]:
    toothed = [(j, wheel) for j, wheel in enumerate(drive.wheels) if wheel.teeth]
    for (_, one), (j, other) in combinations(toothed, 2):
        apart = math.dist((one.x_mm, one.y_mm), (other.x_mm, other.y_mm))
        least = wheel_radius_mm(drive, one) + wheel_radius_mm(drive, other)
        if apart <= least:
            yield error(
                (*place, "wheels", j, "x_mm"),
                (other.x_mm, other.y_mm),
                f"wheels {one.id} and {other.id} run into each other: {apart:.2f} mm apart, "
                f"their pitch circles need more than {least:.2f} mm.",
                "Set them further apart or take fewer teeth.",
            )


def _no_path(sheet: EngineSheet, place: Place, drive: Drive) -> Iterator[Finding]:
    if pairs := list(_too_close(drive)):
        for j, wheel, following, least in pairs:
            apart = math.dist((wheel.x_mm, wheel.y_mm), (following.x_mm, following.y_mm))
            yield error(
                (*place, "wheels", j),
                wheel.id,
                f"no strand can run from {wheel.id} to {following.id}: {apart:.2f} mm apart, it "
                f"needs more than {least:.2f} mm.",
                "Check their places, radii and which side of the chain they touch.",
            )
        return
    try:
        drive_path_of(sheet, drive.id)
    except InputError as fault:
        names = ", ".join(f"{j} {wheel.id}" for j, wheel in enumerate(drive.wheels))
        yield error(
            (*place, "wheels"),
            [wheel.id for wheel in drive.wheels],
            f"no {drive.kind} can lie so: {fault.problem} (Wheels here: {names}.)",
            f"Name the wheels as the running {drive.kind} meets them; check places, sides and the "
            "rotation.",
        )


def _too_close(drive: Drive) -> Iterator[tuple[int, Wheel, Wheel, float]]:
    following = (*drive.wheels[1:], drive.wheels[0])
    for j, (wheel, after) in enumerate(zip(drive.wheels, following, strict=True)):
        least = abs(_signed_radius(drive, wheel) - _signed_radius(drive, after))
        if math.dist((wheel.x_mm, wheel.y_mm), (after.x_mm, after.y_mm)) <= least:
            yield j, wheel, after, least


def _signed_radius(drive: Drive, wheel: Wheel) -> float:
    radius = wheel_radius_mm(drive, wheel)
    return -radius if wheel.contact == "back" else radius


def _wraps(routed: Routed) -> Iterator[Finding]:
    for arc in routed.path.arcs:
        wheel, wrap = routed.drive.wheels[arc.wheel], abs(arc.wrap_deg)
        at = (*routed.place, "wheels", arc.wheel)
        if wheel.teeth is None:
            if wrap < LEAST_CONTACT_DEG:
                message = f"the {routed.drive.kind} runs past it straight and does not touch it."
                yield warning(at, wheel.id, message, "Move it.")
        elif wheel.id == routed.drive.driver:
            if wrap < LEAST_DRIVER_WRAP_DEG:
                yield _lies_short(
                    at, routed.drive.kind, wheel, wrap, f"at least {LEAST_DRIVER_WRAP_DEG:.0f}°"
                )
        elif (
            wheel.shaft is not None
            and wrap / 360 * wheel.teeth < LEAST_TEETH_IN_MESH[routed.drive.kind]
        ):
            least = LEAST_TEETH_IN_MESH[routed.drive.kind]
            yield _lies_short(at, routed.drive.kind, wheel, wrap, f"at least {least:g} teeth")


def _lies_short(at: Place, kind: str, wheel: Wheel, wrap: float, usual: str) -> Finding:
    return warning(
        at,
        wheel.id,
        f"the {kind} lies on only {wrap:.0f}° of it ({wrap / 360 * (wheel.teeth or 0):.1f} teeth "
        f"in mesh); usual is {usual}.",
        "Check the places of its neighbours.",
    )


def _tensioner_strand(place: Place, drive: Drive) -> Iterator[Finding]:
    """The strand that runs off the driver is slack, so a tensioner belongs there."""
    if drive.tensioner is None:
        return
    count, driver = len(drive.wheels), wheel_index(drive, drive.driver)
    for step in range(1, count):
        wheel = drive.wheels[(driver + step) % count]
        if wheel.id == drive.tensioner.wheel:
            return
        if wheel.shaft is not None:
            break
    yield warning(
        (*place, "tensioner", "wheel"),
        drive.tensioner.wheel,
        "the tensioner presses on a strand that is pulled.",
        "It belongs on the slack strand, which runs off the driver.",
    )
