"""From what a sheet states to the path of the accessory belt."""

from __future__ import annotations

from functools import lru_cache

from quizsvc.errors import NotFoundError
from quizsvc.sheets.schema import EngineSheet, Pulley, Rotation
from quizsvc.sheets.state import KEPT
from quizsvc.timing.path import DrivePath, PathWheel


def pulley_of(sheet: EngineSheet, pulley_id: str) -> Pulley:
    """Return the pulley with this id."""
    for pulley in sheet.pulleys:
        if pulley.id == pulley_id:
            return pulley
    raise NotFoundError("the sheet has no such pulley.", field="pulley", value=pulley_id)


@lru_cache(KEPT)
def belt_path_of(sheet: EngineSheet) -> DrivePath:
    """Return the path of the accessory belt, over its pulleys in their running order.

    Raises:
        NotFoundError: the sheet states no accessory belt.
        InputError: no belt can lie so.
    """
    if sheet.accessory_belt is None:
        raise NotFoundError("the sheet states no accessory belt.", field="accessory_belt")
    pulleys = (pulley_of(sheet, name) for name in sheet.accessory_belt.order)
    wheels = tuple(
        PathWheel(p.x_mm, p.y_mm, p.diameter_mm / 2, back=p.contact == "back") for p in pulleys
    )
    return DrivePath(wheels, clockwise=sheet.layout.rotation is Rotation.CLOCKWISE)
