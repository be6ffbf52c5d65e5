"""Which parts of a sheet can be computed with at all, so that later checks need not ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from quizsvc.errors import InputError
from quizsvc.sheets.problems import Place
from quizsvc.sheets.schema import Drive, EngineSheet
from quizsvc.sheets.state import drive_path_of, events_of, layout_of, slider_of
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import CylinderLayout
from quizsvc.timing.path import DrivePath
from quizsvc.timing.valves import ValveEvents

Part = TypeVar("Part")


@dataclass(frozen=True, slots=True)
class Routed:
    """A drive on whose wheels a chain can lie, with its place in the sheet and its path."""

    place: Place
    drive: Drive
    path: DrivePath


@dataclass(frozen=True, slots=True)
class Sound:
    """A sheet with what the core accepts of it; None or left out where it refuses."""

    sheet: EngineSheet
    layout: CylinderLayout | None
    slider: SliderCrank | None
    events: ValveEvents | None
    routed: tuple[Routed, ...]


def sound_parts(sheet: EngineSheet) -> Sound:
    """Try each part of the sheet."""
    return Sound(
        sheet,
        _accepted(lambda: layout_of(sheet)),
        _accepted(lambda: slider_of(sheet)),
        _accepted(lambda: events_of(sheet)),
        tuple(_routed(sheet)),
    )


def _routed(sheet: EngineSheet) -> Iterator[Routed]:
    for index, drive in enumerate(sheet.drives):
        path = _accepted(lambda drive=drive: drive_path_of(sheet, drive.id))  # type: ignore[misc]
        if path is not None:
            yield Routed(("drives", index), drive, path)


def _accepted(make: Callable[[], Part]) -> Part | None:
    try:
        return make()
    except InputError:
        return None
