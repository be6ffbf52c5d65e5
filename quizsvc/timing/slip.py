"""What happens when a cam has slipped by whole teeth: contact, and how much slip is free."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole
from quizsvc.timing.valves import ValveKind

MOST_TEETH = 400  # more than any wheel has
WORSE_MM = 0.05  # more common lift than in time by this counts as worse, not as rounding


@dataclass(frozen=True, slots=True)
class FirstContact:
    """The first valve to meet its piston as the crank is turned forward after a slip.

    ``teeth_off`` is positive for a cam that lags; ``crank_deg`` stands in [0, 720).
    """

    teeth_off: int
    valve: ValveKind
    cylinder: int
    crank_deg: float


@dataclass(frozen=True, slots=True)
class SlipTolerance:
    """Whole teeth the cam may slip each way without contact, and the contact one tooth further.

    A contact of None: valve and piston never meet, however far the cam is turned.
    """

    advanced_teeth: int
    retarded_teeth: int
    advanced_contact: FirstContact | None
    retarded_contact: FirstContact | None

    @property
    def interference(self) -> bool:
        """Whether some position of the cam brings valves and pistons together."""
        return self.advanced_contact is not None or self.retarded_contact is not None


def first_contact(
    rooms: Iterable[ValveRoom],
    slider: SliderCrank,
    firing_deg: Mapping[int, float],
    *,
    teeth_off: int,
    tooth_deg: float,
    from_deg: float = 0.0,
) -> FirstContact | None:
    """Name the first valve to meet its piston, turning the crank forward from ``from_deg``.

    ``rooms`` are the valves whose cam has slipped, ``firing_deg`` the cylinders it serves;
    ``tooth_deg`` the crank degrees of one tooth (720 / N on a half-speed cam sprocket). A valve
    that overlaps its piston at ``from_deg`` already is named with that angle. None if nothing
    meets within the cycle.
    """
    whole("teeth_off", teeth_off, at_least=-MOST_TEETH, at_most=MOST_TEETH)
    shift = teeth_off * number("tooth_deg", tooth_deg, above=0)
    for firing in firing_deg.values():
        number("firing_deg", firing)
    start = turn_deg(number("from_deg", from_deg), CYCLE_DEG)
    found: list[tuple[float, int, ValveKind]] = []
    for room in rooms:
        for meeting in room.retarded(shift).meetings(slider):
            lasts = turn_deg(meeting.to_deg - meeting.from_deg, CYCLE_DEG)
            for cylinder, firing in firing_deg.items():
                ahead = _ahead_deg(meeting.from_deg + firing - start, lasts)
                found.append((ahead, cylinder, room.valve))
    if not found:
        return None
    ahead, cylinder, valve = min(found)
    return FirstContact(teeth_off, valve, cylinder, turn_deg(start + ahead, CYCLE_DEG))


def slip_tolerance(
    rooms: Sequence[ValveRoom],
    slider: SliderCrank,
    firing_deg: Mapping[int, float],
    *,
    tooth_deg: float,
    from_deg: float = 0.0,
) -> SlipTolerance:
    """Slip the cam tooth by tooth each way until a valve first meets its piston.

    Arguments as in first_contact. Raises InputError when valve and piston meet in time already.

    >>> intake = ValveRoom("intake", LiftCurve(340, 600, 10), room_mm=6)
    >>> free = slip_tolerance([intake], SliderCrank(86, 143), {1: 0.0}, tooth_deg=20)
    >>> free.advanced_teeth, free.retarded_teeth, free.advanced_contact.valve
    (2, 9, 'intake')
    """
    valves = _rooms(rooms)
    number("tooth_deg", tooth_deg, above=0, at_most=CYCLE_DEG)
    if any(room.meetings(slider) for room in valves):
        refuse("rooms", rooms, "a valve meets its piston with the cam in time.",
               "Check lift, events and room.")  # fmt: skip
    most = math.ceil(CYCLE_DEG / tooth_deg) - 1
    contacts = [
        _first_slip_that_meets(valves, slider, firing_deg, tooth_deg, from_deg, way, most)
        for way in (-1, 1)
    ]
    free = [most if contact is None else abs(contact.teeth_off) - 1 for contact in contacts]
    return SlipTolerance(free[0], free[1], contacts[0], contacts[1])


def greatest_common_lift_mm(intake: LiftCurve, exhaust: LiftCurve) -> float:
    """Find how far both valves of a cylinder are off their seats at once, in mm.

    The greatest value over the cycle of the smaller of the two lifts; it grows when the cams
    move towards each other.

    >>> round(greatest_common_lift_mm(LiftCurve(340, 600, 10), LiftCurve(120, 380, 10)), 3)
    0.285
    """
    steps = math.ceil(intake.duration_deg)
    step = intake.duration_deg / steps
    angles = (intake.open_deg + i * step for i in range(steps + 1))
    best = max(angles, key=lambda deg: min(intake.lift_mm(deg), exhaust.lift_mm(deg)))
    fine = (best + (i - 50) * step / 50 for i in range(101))
    return max(min(intake.lift_mm(deg), exhaust.lift_mm(deg)) for deg in fine)


def valves_may_meet(
    in_time: tuple[LiftCurve, LiftCurve], slipped: tuple[LiftCurve, LiftCurve]
) -> bool:
    """Flag a slip that may bring intake and exhaust valve of one cylinder together.

    For engines whose sheet says that they can meet. In time they are known to clear each other;
    whenever both stand open further than that, nothing vouches for it any more. It is a
    warning, not a proof of contact: seat distance and head shape are not in the sheet.

    >>> intake, exhaust = LiftCurve(340, 600, 10), LiftCurve(120, 380, 10)
    >>> valves_may_meet((intake, exhaust), (intake.retarded(-40), exhaust))
    True
    >>> valves_may_meet((intake, exhaust), (intake.retarded(40), exhaust))
    False
    """
    return greatest_common_lift_mm(*slipped) > greatest_common_lift_mm(*in_time) + WORSE_MM


def _first_slip_that_meets(
    rooms: tuple[ValveRoom, ...],
    slider: SliderCrank,
    firing_deg: Mapping[int, float],
    tooth_deg: float,
    from_deg: float,
    way: int,
    most: int,
) -> FirstContact | None:
    for teeth in range(1, most + 1):
        contact = first_contact(
            rooms, slider, firing_deg,
            teeth_off=way * teeth, tooth_deg=tooth_deg, from_deg=from_deg,
        )  # fmt: skip
        if contact is not None:
            return contact
    return None


def _ahead_deg(to_meeting_deg: float, lasts_deg: float) -> float:
    """Degrees to turn until a meeting begins; 0 inside one."""
    ahead = turn_deg(to_meeting_deg, CYCLE_DEG)
    return 0.0 if CYCLE_DEG - ahead < lasts_deg else ahead


def _rooms(rooms: object) -> tuple[ValveRoom, ...]:
    found = sequence("rooms", rooms)
    checked = tuple(room for room in found if isinstance(room, ValveRoom))
    if len(checked) != len(found) or not checked:
        refuse("rooms", rooms, "must hold at least one ValveRoom.")
    return checked
