"""Finding shafts, drives and wheels of a sheet by their names."""

from __future__ import annotations

from quizsvc.errors import NotFoundError
from quizsvc.sheets.schema import Drive, EngineSheet, Shaft, ShaftKind, Wheel
from quizsvc.timing.valves import ValveKind


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
