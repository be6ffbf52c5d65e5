"""The timing bench: how far its crank is turned, which chains slipped, and which one is off.

Everything that moves is looked up in the core's motion table; this module says which shafts stand
late or still.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from quizsvc.sheets.schema import Drive, EngineSheet, Rotation, Wheel, WheelPart
from quizsvc.sheets.state import (
    cam_for,
    cam_ratio,
    cams_of,
    crank_of,
    driven_by,
    exact_cam_ratio,
    layout_of,
    roller_turns,
    runs_clockwise,
    shafts_behind,
    slider_of,
    tooth_crank_deg,
    wheel_of,
)
from quizsvc.sheets.valve_state import drive_tooth_deg, valve_room_of
from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.motion import (
    CamShaft,
    Contact,
    MotionTable,
    RunningChain,
    TurningWheel,
    motion_table,
)
from quizsvc.timing.sensors import ToneWheel
from quizsvc.timing.standing import standing_meetings
from quizsvc.timing.valves import ValveKind

KEPT = 64  # motion tables; one takes about 1 MB
STEP_DEG = 1.0


@dataclass(frozen=True, slots=True)
class Off:
    """A chain that was taken off, and how far the crank was turned then."""

    drive: str
    at_deg: float


@dataclass(frozen=True, slots=True)
class Setting:
    """What was done to the chains: teeth slipped per drive, later positive, and the one off."""

    slipped: tuple[tuple[str, int], ...] = ()
    off: Off | None = None

    def teeth(self, drive_id: str) -> int:
        """Return the teeth by which what a drive turns is late; negative is early."""
        return dict(self.slipped).get(drive_id, 0)

    def with_teeth(self, drive_id: str, teeth: int) -> Setting:
        """Return the setting with another slip of one drive."""
        slipped = dict(self.slipped) | {drive_id: teeth}
        kept = tuple(sorted((drive, off) for drive, off in slipped.items() if off))
        return replace(self, slipped=kept)


@dataclass(frozen=True, slots=True)
class BenchState:
    """The whole bench. ``turned_deg`` counts on over cycles, since marked links come round late."""

    turned_deg: float
    setting: Setting = Setting()

    @property
    def crank_deg(self) -> float:
        """Return the crank angle in [0, 720)."""
        return round(self.turned_deg % CYCLE_DEG, 1) % CYCLE_DEG


def late_deg(sheet: EngineSheet, setting: Setting) -> dict[str, float]:
    """Return by how many crank degrees each shaft is late, for those that are not in time."""
    late: dict[str, float] = {}
    for drive_id, teeth in setting.slipped:
        for shaft in followers(sheet, drive_id):
            late[shaft] = late.get(shaft, 0.0) + teeth * drive_tooth_deg(sheet, drive_id)
    return late


def standing_deg(sheet: EngineSheet, setting: Setting) -> dict[str, float]:
    """Return the crank angle that shafts standing still belong to, for those behind a chain off."""
    if setting.off is None:
        return {}
    late = late_deg(sheet, setting)
    return {
        shaft: setting.off.at_deg - late.get(shaft, 0.0)
        for shaft in followers(sheet, setting.off.drive)
    }


def followers(sheet: EngineSheet, drive_id: str) -> tuple[str, ...]:
    """Return all that stands still when a drive is off: shafts, and idlers by their wheels."""
    behind = shafts_behind(sheet, drive_id)
    idlers = (
        wheel_key(drive, wheel)
        for drive in sheet.drives
        for wheel in drive.wheels
        if (wheel.teeth and wheel.shaft is None) or turns_by_friction(drive, wheel)
        if drive.id == drive_id or wheel_of(drive, drive.driver).shaft in behind
    )
    return (*behind, *idlers)


def turns_by_friction(drive: Drive, wheel: Wheel) -> bool:
    """Say whether a wheel is a plain roller that a belt turns."""
    return drive.kind == "belt" and not wheel.teeth and wheel.part is not WheelPart.GUIDE


def wheel_key(drive: Drive, wheel: Wheel) -> str:
    """Return a name for a wheel that no other drive of the sheet uses."""
    return f"{drive.id}/{wheel.id}"


@lru_cache(KEPT)
def motion_of(sheet: EngineSheet, setting: Setting) -> MotionTable:
    """Return the motion table of the sheet's engine with its chains so set."""
    late, still = late_deg(sheet, setting), standing_deg(sheet, setting)
    moving = {shaft: deg for shaft, deg in late.items() if shaft not in still}
    layout, slider = layout_of(sheet), slider_of(sheet)
    cams, wheels = tuple(_cams(sheet)), turning_wheels(sheet)
    table = motion_table(
        layout,
        slider,
        [cam for cam in cams if cam.id not in still],
        wheels=[wheel for wheel in wheels if wheel.shaft not in still],
        chains=_chains(sheet),
        sensors=_sensors(sheet, moving, still),
        late_deg={shaft: deg for shaft, deg in moving.items() if _in_table(shaft, wheels)},
        step_deg=STEP_DEG,
    )
    return _with_standing(sheet, table, cams, wheels, still) if still else table


@lru_cache(KEPT)
def turning_wheels(sheet: EngineSheet) -> tuple[TurningWheel, ...]:
    """Return every wheel that turns, with the shaft it may stand still with."""
    return tuple(_wheels(sheet))


def chain_ahead_pitches(sheet: EngineSheet, setting: Setting, drive: Drive) -> float | None:
    """Return what a chain is ahead of the table's column, in pitches; None while it is off.

    Its driver may itself be late. A chain whose driver stands still is given by `chain_at`.
    """
    if setting.off is not None and setting.off.drive == drive.id:
        return None
    driver = wheel_of(drive, drive.driver).shaft or ""
    return -late_deg(sheet, setting).get(driver, 0.0) / 360 * pitches_per_turn(sheet, drive)


def chain_at_pitches(sheet: EngineSheet, setting: Setting, drive: Drive) -> float | None:
    """Return where a chain rests whose driver stands still, in pitches from crank angle 0."""
    still = standing_deg(sheet, setting).get(wheel_of(drive, drive.driver).shaft or "")
    return None if still is None else still / 360 * pitches_per_turn(sheet, drive)


def pitches_per_turn(sheet: EngineSheet, drive: Drive) -> float:
    """Return the pitches of a chain that pass per crank turn."""
    driver = wheel_of(drive, drive.driver)
    return (driver.teeth or 0) * abs(cam_ratio(sheet, driver.shaft or ""))


def _cams(sheet: EngineSheet) -> Iterator[CamShaft]:
    for shaft in cams_of(sheet):
        driven = driven_by(sheet, shaft.id)
        if driven is None:
            continue
        cylinders = tuple(
            cylinder
            for cylinder in layout_of(sheet).cylinders
            if all(cam_for(sheet, cylinder, valve).id == shaft.id for valve in shaft.carries)
        )
        rooms = tuple(valve_room_of(sheet, valve) for valve in shaft.carries)
        yield CamShaft(shaft.id, cylinders, rooms, tooth_crank_deg(sheet, driven.wheel))


def _wheels(sheet: EngineSheet) -> Iterator[TurningWheel]:
    way = 1 if sheet.layout.rotation is Rotation.CLOCKWISE else -1
    crank = crank_of(sheet).id
    for drive in sheet.drives:
        for wheel in drive.wheels:
            key = wheel_key(drive, wheel)
            at = wheel.mark.at_deg if wheel.mark else 0.0
            if turns_by_friction(drive, wheel):
                turns, shaft = way * roller_turns(sheet, drive, wheel), key
            elif not wheel.teeth:
                continue
            elif wheel.shaft is None:
                loop = 1 if runs_clockwise(sheet, drive) == (wheel.contact == "inside") else -1
                turns, shaft = loop * pitches_per_turn(sheet, drive) / wheel.teeth, key
            else:
                turns = way * float(exact_cam_ratio(sheet, wheel.shaft))
                shaft = wheel.shaft
            yield TurningWheel(
                key, at, turns, sheet.marks_position.crank_deg, None if shaft == crank else shaft
            )


def _chains(sheet: EngineSheet) -> Iterator[RunningChain]:
    for drive in sheet.drives:
        if drive.kind == "chain":
            yield RunningChain(drive.id, pitches_per_turn(sheet, drive), drive.pins)


def _sensors(
    sheet: EngineSheet, late: dict[str, float], still: dict[str, float]
) -> dict[str, ToneWheel]:
    return {
        sensor.id: ToneWheel(
            sensor.places,
            sensor.missing,
            sensor.first_edge_deg + late.get(sensor.shaft, 0.0),
            abs(cam_ratio(sheet, sensor.shaft)),
        )
        for sensor in sheet.sensors
        if sensor.shaft not in still
    }


def _in_table(shaft: str, wheels: tuple[TurningWheel, ...]) -> bool:
    return any(wheel.shaft == shaft for wheel in wheels)


def _with_standing(
    sheet: EngineSheet,
    table: MotionTable,
    cams: tuple[CamShaft, ...],
    wheels: tuple[TurningWheel, ...],
    still: dict[str, float],
) -> MotionTable:
    """Add the columns of all that stands still, and where pistons meet valves that do."""
    steps, firing, slider = len(table.crank_deg), layout_of(sheet).firing_deg, slider_of(sheet)
    lift, gap = dict(table.lift_mm), dict(table.gap_mm)
    contacts = list(table.contacts)
    for cylinder, valve, cam in _valves(cams):
        if cam.id not in still:
            continue
        room = valve_room_of(sheet, valve)
        opened = room.curve.lift_mm(still[cam.id] - firing[cylinder])
        drops = table.drop_mm[cylinder]
        lift[cylinder, valve] = (opened,) * steps
        gap[cylinder, valve] = tuple(room.gap_from_mm(drop, opened) for drop in drops)
        for meeting in standing_meetings(room, slider, opened):
            begin = meeting.from_deg + firing[cylinder]
            lasts = (meeting.to_deg - meeting.from_deg) % 360 or 360.0
            contacts += (
                Contact(cylinder, valve, at % CYCLE_DEG, (at + lasts) % CYCLE_DEG)
                for at in (begin, begin + 360)
            )
    directions = dict(table.wheel_deg) | {
        wheel.id: (wheel.mark_deg(still[wheel.shaft]),) * steps
        for wheel in wheels
        if wheel.shaft in still
    }
    signals = dict(table.signals)
    for sensor in sheet.sensors:
        if sensor.shaft in still:
            tone = ToneWheel(
                sensor.places,
                sensor.missing,
                sensor.first_edge_deg,
                abs(cam_ratio(sheet, sensor.shaft)),
            )
            signals[sensor.id] = (tone.level(still[sensor.shaft]),) * steps
    return replace(
        table,
        lift_mm=lift,
        gap_mm=gap,
        wheel_deg=directions,
        signals=signals,
        contacts=tuple(sorted(contacts, key=lambda c: (c.from_deg, c.cylinder, c.valve))),
    )


def _valves(cams: tuple[CamShaft, ...]) -> Iterator[tuple[int, ValveKind, CamShaft]]:
    for cam in cams:
        for cylinder in cam.cylinders:
            for room in cam.rooms:
                yield cylinder, room.valve, cam
