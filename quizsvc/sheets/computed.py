"""What follows from a sheet, as figures that a person can hold against the maker's data."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from quizsvc.errors import QuizsvcError
from quizsvc.sheets.drive_words import has_drive
from quizsvc.sheets.schema import Drive, EngineSheet, WheelPart
from quizsvc.sheets.state import (
    cams_of,
    compression_ratio_of,
    counted_marks,
    displacement_cc_of,
    drive_path_of,
    exact_cam_ratio,
    layout_of,
    loop_pitches,
    roller_turns,
    slider_of,
)
from quizsvc.sheets.valve_state import (
    VALVES,
    customary_gap_mm,
    drive_tooth_deg,
    least_gap_of,
    slip_tolerance_of,
    valves_may_meet_from,
)
from quizsvc.sheets.wear_state import plunger_at_mm, retard_of
from quizsvc.timing.crank import least_drop, safe_positions
from quizsvc.timing.slip import FirstContact
from quizsvc.timing.valves import ValveKind


@dataclass(frozen=True, slots=True)
class Computed:
    """One computed figure: of what, how much, and what stands beside it in the sheet."""

    quantity: str
    of: str
    value: float
    unit: str
    words: str = ""


def computed_values(sheet: EngineSheet) -> tuple[Computed, ...]:
    """Return every figure that can be computed; what the core refuses is left out.

    The check says why something is refused.
    """
    return tuple(figure for part in _parts(sheet) for figure in _or_nothing(part))


def _parts(sheet: EngineSheet) -> Iterator[Callable[[], list[Computed]]]:
    yield lambda: list(_engine(sheet))
    yield lambda: list(_safe(sheet))
    yield lambda: list(_marks_position(sheet))
    for drive in sheet.drives:
        for part in (_chain, _marks, _tensioner, _belt, _slip):
            yield lambda part=part, drive=drive: list(part(sheet, drive))  # type: ignore[misc]
    for valve in VALVES:
        yield lambda valve=valve: list(_gap(sheet, valve))  # type: ignore[misc]
    yield lambda: list(_retards(sheet))


def _or_nothing(part: Callable[[], list[Computed]]) -> list[Computed]:
    try:
        return part()
    except QuizsvcError:
        return []


def _engine(sheet: EngineSheet) -> Iterator[Computed]:
    yield Computed("displacement", "engine", displacement_cc_of(sheet), "cc")
    yield Computed("compression ratio", "engine", compression_ratio_of(sheet), ": 1")
    intervals = sorted({round(interval, 3) for interval in layout_of(sheet).intervals_deg})
    shown = ", ".join(f"{interval:g}°" for interval in intervals)
    yield Computed("firing interval", "engine", intervals[0], "°", f"intervals: {shown}")


def _safe(sheet: EngineSheet) -> Iterator[Computed]:
    for safe in safe_positions(layout_of(sheet), slider_of(sheet)):
        yield Computed(
            "safe position",
            "crankshaft",
            safe.atdc_deg,
            "° ATDC 1",
            f"shallowest {_listed(safe.cylinders)}, {safe.drop_mm:.1f} mm below TDC",
        )


def _marks_position(sheet: EngineSheet) -> Iterator[Computed]:
    least = least_drop(layout_of(sheet), slider_of(sheet), sheet.marks_position.crank_deg)
    yield Computed(
        "shallowest piston",
        "marks position",
        least.drop_mm,
        "mm below TDC",
        f"{_listed(least.cylinders)}; crank at {sheet.marks_position.crank_deg:g}°",
    )
    marked = {w.shaft for drive in sheet.drives for w in drive.wheels if w.mark and w.shaft}
    turns = [exact_cam_ratio(sheet, shaft) for shaft in marked]
    chain = has_drive(sheet, "chain")
    yield Computed(
        "sprocket marks meet again" if chain else "pulley marks meet again",
        "engine",
        math.lcm(*(ratio.denominator for ratio in turns)),
        "crank turns",
        f"marked {'links' if chain else 'belt teeth'} meet them more rarely",
    )


def _chain(sheet: EngineSheet, drive: Drive) -> Iterator[Computed]:
    yield Computed(
        "path", drive.id, loop_pitches(sheet, drive.id), "pitches", f"stated: {drive.pins}"
    )
    yield Computed("one tooth", drive.id, drive_tooth_deg(sheet, drive.id), "° crank")


def _marks(sheet: EngineSheet, drive: Drive) -> Iterator[Computed]:
    for count in counted_marks(sheet, drive.id):
        stated = count.stated
        yield Computed(
            "between marks",
            f"{stated.from_wheel} to {stated.to_wheel}",
            count.pitches,
            "pitches",
            f"stated: {stated.pins}",
        )


def _tensioner(sheet: EngineSheet, drive: Drive) -> Iterator[Computed]:
    limit = drive.elongation_limit_percent
    if drive.tensioner and drive.kind == "chain":
        yield Computed(
            "plunger at wear limit",
            drive.id,
            plunger_at_mm(sheet, drive.id, limit),
            "mm",
            f"at {limit:g} %; groove shows at {drive.tensioner.groove_at_mm:g} mm",
        )


def _belt(sheet: EngineSheet, drive: Drive) -> Iterator[Computed]:
    """What matters on a belt only: teeth in mesh, and what its back turns."""
    if drive.kind != "belt":
        return
    path = drive_path_of(sheet, drive.id)
    for index, wheel in enumerate(drive.wheels):
        if wheel.teeth is not None:
            meshed = path.teeth_in_mesh(index, wheel.teeth)
            yield Computed("teeth in mesh", wheel.id, meshed, "teeth", f"of {wheel.teeth}")
        elif wheel.part is not WheelPart.GUIDE:
            turns = roller_turns(sheet, drive, wheel)
            way = "with" if turns > 0 else "against"
            words = f"{way} the crankshaft, if it does not slip"
            yield Computed("turns per crank turn", wheel.id, abs(turns), "turns", words)


def _slip(sheet: EngineSheet, drive: Drive) -> Iterator[Computed]:
    tolerance = slip_tolerance_of(sheet, drive.id)
    if tolerance is None:
        return
    for way, teeth, contact in (
        ("advanced", tolerance.advanced_teeth, tolerance.advanced_contact),
        ("retarded", tolerance.retarded_teeth, tolerance.retarded_contact),
    ):
        yield Computed(f"slip tolerance {way}", drive.id, teeth, "teeth", _contact(contact))
    for way, off in (("advanced", -1), ("retarded", 1)):
        first = valves_may_meet_from(sheet, drive.id, way=off)
        if first is not None:
            words = "intake and exhaust valve of one cylinder may meet from here on"
            yield Computed(f"valve to valve {way}", drive.id, first, "teeth", words)


def _contact(contact: FirstContact | None) -> str:
    if contact is None:
        return "valves and pistons never meet"
    return (
        f"one more: {contact.valve} valve of cylinder {contact.cylinder} meets its piston at "
        f"{contact.crank_deg:.0f}°"
    )


def _gap(sheet: EngineSheet, valve: ValveKind) -> Iterator[Computed]:
    gap = least_gap_of(sheet, valve)
    yield Computed(
        "least gap to piston",
        f"{valve} valve",
        gap.gap_mm,
        "mm",
        f"{gap.own_deg:.0f}° after firing TDC; asked for: {customary_gap_mm(sheet, valve):g} mm",
    )


def _retards(sheet: EngineSheet) -> Iterator[Computed]:
    if not has_drive(sheet, "chain"):
        return  # belts do not grow
    for cam in cams_of(sheet):
        yield Computed(
            "lag at wear limit", cam.id, retard_of(sheet, cam.id), "° crank", "all chains at limit"
        )


def _listed(cylinders: tuple[int, ...]) -> str:
    return ("cylinder " if len(cylinders) == 1 else "cylinders ") + ", ".join(map(str, cylinders))
