"""The motion table: where everything stands at each step of the crank over a whole cycle.

Made once per engine and state; a page that turns the engine reads it and computes no geometry
of its own. Every value comes from the modules that know it, one by one: at half a degree a V8
takes 1,440 steps × 40 values and stays well under a tenth of a second.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import CYCLE_DEG, CylinderLayout
from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole
from quizsvc.timing.sensors import ToneWheel
from quizsvc.timing.valves import ValveKind

FINEST_STEP_DEG = 0.1

Column = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CamShaft:
    """A cam as the table needs it: the valve it works on which cylinders, and one tooth's worth.

    ``tooth_deg`` are the crank degrees of one tooth of slip on its wheel.
    """

    id: str
    cylinders: tuple[int, ...]
    rooms: tuple[ValveRoom, ...]
    tooth_deg: float

    def __post_init__(self) -> None:
        number("tooth_deg", self.tooth_deg, above=0)
        for cylinder in sequence("cylinders", self.cylinders):
            whole("cylinders", cylinder, at_least=1)
        if any(not isinstance(room, ValveRoom) for room in sequence("rooms", self.rooms)):
            refuse("rooms", self.rooms, "must hold ValveRooms only.")


@dataclass(frozen=True, slots=True)
class TurningWheel:
    """A wheel that turns with the crank, as seen from the chain end.

    ``at_deg`` is the direction of its mark, clockwise from straight up, at crank angle
    ``reference_deg``; ``clockwise_turns`` its turns per crank turn, negative anticlockwise.
    ``shaft`` names the cam it carries, if that can slip against it.
    """

    id: str
    at_deg: float
    clockwise_turns: float
    reference_deg: float = 0.0
    shaft: str | None = None

    def __post_init__(self) -> None:
        number("at_deg", self.at_deg)
        number("clockwise_turns", self.clockwise_turns)
        number("reference_deg", self.reference_deg)

    def mark_deg(self, crank_deg: float, late_deg: float = 0.0) -> float:
        """Direction of the mark in [0, 360); ``late_deg`` crank degrees behind its place.

        >>> TurningWheel("cam", 350, 0.5).mark_deg(90)
        35.0
        """
        turned = (crank_deg - late_deg - self.reference_deg) * self.clockwise_turns
        return turn_deg(self.at_deg + turned)


@dataclass(frozen=True, slots=True)
class RunningChain:
    """A chain: pitches that pass per crank turn, and how many it has."""

    id: str
    pitches_per_turn: float
    pins: int

    def __post_init__(self) -> None:
        number("pitches_per_turn", self.pitches_per_turn, above=0)
        whole("pins", self.pins, at_least=2)

    def moved_pitches(self, crank_deg: float) -> float:
        """Pitches in [0, pins) that have passed since crank angle 0.

        >>> RunningChain("primary", 18, 40).moved_pitches(840)
        2.0
        """
        return turn_deg(crank_deg / 360 * self.pitches_per_turn, self.pins)


@dataclass(frozen=True, slots=True)
class Contact:
    """Crank angles from which to which a valve and its piston would overlap."""

    cylinder: int
    valve: ValveKind
    from_deg: float
    to_deg: float


@dataclass(frozen=True, slots=True)
class MotionTable:
    """Columns over ``crank_deg``; valve columns are keyed by (cylinder, valve).

    ``gap_mm`` below zero is overlap: the engine could not stand there. ``slipped`` are the
    teeth by which cams lag (positive) or lead (negative).
    """

    step_deg: float
    crank_deg: Column
    drop_mm: Mapping[int, Column]
    lift_mm: Mapping[tuple[int, ValveKind], Column]
    gap_mm: Mapping[tuple[int, ValveKind], Column]
    wheel_deg: Mapping[str, Column]
    chain_pitches: Mapping[str, Column]
    signals: Mapping[str, tuple[int, ...]]
    contacts: tuple[Contact, ...]
    slipped: Mapping[str, int]


def motion_table(
    layout: CylinderLayout,
    slider: SliderCrank,
    cams: Iterable[CamShaft] = (),
    *,
    wheels: Iterable[TurningWheel] = (),
    chains: Iterable[RunningChain] = (),
    sensors: Mapping[str, ToneWheel] | None = None,
    slipped: Mapping[str, int] | None = None,
    late_deg: Mapping[str, float] | None = None,
    step_deg: float = 1.0,
) -> MotionTable:
    """Tabulate the engine over [0, 720) in steps of ``step_deg``, which must divide 720.

    ``slipped`` gives teeth per cam id, positive for a cam that lags; ``late_deg`` crank degrees
    per shaft that a drive before it makes late (a slipped primary chain, wear), on top of that.
    Valves and wheels of the shaft stand late by the sum. Raises InputError on an unknown cam,
    shaft or cylinder.

    >>> from quizsvc.timing.cycle import inline_layout
    >>> table = motion_table(inline_layout((1, 3, 4, 2)), SliderCrank(80, 140))
    >>> len(table.crank_deg), table.drop_mm[2][0], table.drop_mm[4][0]
    (720, 80.0, 0.0)
    """
    shafts, turning = {cam.id: cam for cam in cams}, tuple(wheels)
    late = _late_deg(shafts, turning, slipped or {}, late_deg or {})
    crank_deg = _steps(step_deg)
    rooms = _rooms(shafts.values(), late, layout.cylinders)
    drops = {c: _drops(crank_deg, slider, layout.tdc_deg(c)) for c in layout.cylinders}
    firing = layout.firing_deg
    lifts = {key: _lifts(crank_deg, room, firing[key[0]]) for key, room in rooms.items()}
    return MotionTable(
        step_deg=step_deg,
        crank_deg=crank_deg,
        drop_mm=drops,
        lift_mm=lifts,
        gap_mm={
            key: tuple(map(room.gap_from_mm, drops[key[0]], lifts[key]))
            for key, room in rooms.items()
        },
        wheel_deg={
            wheel.id: _marks(crank_deg, wheel, late.get(wheel.shaft or "", 0.0))
            for wheel in turning
        },
        chain_pitches={chain.id: tuple(map(chain.moved_pitches, crank_deg)) for chain in chains},
        signals={
            name: tuple(map(wheel.level, crank_deg)) for name, wheel in (sensors or {}).items()
        },
        contacts=_contacts(rooms, slider, firing),
        slipped=dict(slipped or {}),
    )


def _steps(step_deg: float) -> Column:
    number("step_deg", step_deg, at_least=FINEST_STEP_DEG, at_most=90)
    steps = round(CYCLE_DEG / step_deg)
    if abs(steps * step_deg - CYCLE_DEG) > 1e-9:
        refuse("step_deg", step_deg, "does not divide 720.", "Take 0.5 or 1.")
    return tuple(i * CYCLE_DEG / steps for i in range(steps))


def _drops(crank_deg: Column, slider: SliderCrank, tdc_deg: float) -> Column:
    return tuple(slider.drop_mm(deg - tdc_deg) for deg in crank_deg)


def _lifts(crank_deg: Column, room: ValveRoom, firing_deg: float) -> Column:
    return tuple(room.curve.lift_mm(deg - firing_deg) for deg in crank_deg)


def _marks(crank_deg: Column, wheel: TurningWheel, late_deg: float) -> Column:
    return tuple(wheel.mark_deg(deg, late_deg) for deg in crank_deg)


def _late_deg(
    cams: Mapping[str, CamShaft],
    wheels: tuple[TurningWheel, ...],
    slipped: Mapping[str, int],
    late_deg: Mapping[str, float],
) -> dict[str, float]:
    """Crank degrees by which each shaft lags, from teeth and from drives before it."""
    shafts = {*cams, *(wheel.shaft for wheel in wheels if wheel.shaft)}
    late = {name: number("late_deg", deg) for name, deg in late_deg.items()}
    for name, teeth in slipped.items():
        if name not in cams:
            refuse("slipped", name, "is no cam of this engine.", f"Choose of {sorted(cams)}.")
        whole("slipped", teeth, at_least=-400, at_most=400)
        late[name] = late.get(name, 0.0) + teeth * cams[name].tooth_deg
    for name in late:
        if name not in shafts:
            refuse("late_deg", name, "is no shaft of this table.", f"Choose of {sorted(shafts)}.")
    return late


def _rooms(
    cams: Iterable[CamShaft], late: Mapping[str, float], cylinders: tuple[int, ...]
) -> dict[tuple[int, ValveKind], ValveRoom]:
    found: dict[tuple[int, ValveKind], ValveRoom] = {}
    for cam in cams:
        for room in (r.retarded(late[cam.id]) if late.get(cam.id) else r for r in cam.rooms):
            for cylinder in cam.cylinders:
                if cylinder not in cylinders:
                    refuse("cylinders", cylinder, f"of cam {cam.id} is not in this engine.")
                if found.setdefault((cylinder, room.valve), room) is not room:
                    refuse("cams", cam.id, f"is a second {room.valve} cam of cylinder {cylinder}.")
    return found


def _contacts(
    rooms: Mapping[tuple[int, ValveKind], ValveRoom],
    slider: SliderCrank,
    firing_deg: Mapping[int, float],
) -> tuple[Contact, ...]:
    meetings = {room: room.meetings(slider) for room in set(rooms.values())}
    found = (
        Contact(
            cylinder,
            valve,
            turn_deg(meeting.from_deg + firing_deg[cylinder], CYCLE_DEG),
            turn_deg(meeting.to_deg + firing_deg[cylinder], CYCLE_DEG),
        )
        for (cylinder, valve), room in rooms.items()
        for meeting in meetings[room]
    )
    return tuple(sorted(found, key=lambda c: (c.from_deg, c.cylinder, c.valve)))
