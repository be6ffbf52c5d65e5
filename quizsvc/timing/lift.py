"""Valve lift over the cycle by a published cam law.

The law is the 3-4-5 polynomial, rise and fall each s = h(10u³ − 15u⁴ + 6u⁵), u from 0 at the
seat to 1 at full lift: no step in velocity or acceleration anywhere.
Source: Norton, Design of Machinery, chapter on cam design (3-4-5 polynomial for rise and fall).
Neglected: lash and its ramps, spring surge, a lobe that is not symmetrical. A real lobe differs;
a sheet's events and lift are met exactly, the shape between them is this law's.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.quantity import number, refuse, turn_deg
from quizsvc.timing.valves import ValveEvents, ValveKind

HALVINGS = 60  # of an interval of 1: far below rounding


@dataclass(frozen=True, slots=True)
class LiftCurve:
    """Lift of one valve between its opening and closing angle, on one cylinder's own scale.

    Angles in crank degrees after that cylinder's firing TDC, any turn; the valve is open from
    ``open_deg`` forward to ``close_deg``. Raises InputError when it never opens or never closes.

    >>> curve = LiftCurve(340, 600, 10)
    >>> curve.peak_deg, curve.lift_mm(470), curve.lift_mm(405), curve.lift_mm(0)
    (470.0, 10.0, 5.0, 0.0)
    """

    open_deg: float
    close_deg: float
    max_lift_mm: float
    duration_deg: float = field(init=False, compare=False)

    def __post_init__(self) -> None:
        opened, closed = number("open_deg", self.open_deg), number("close_deg", self.close_deg)
        number("max_lift_mm", self.max_lift_mm, above=0)
        duration = turn_deg(closed - opened, CYCLE_DEG)
        if duration == 0:
            refuse("close_deg", closed, "falls on the opening angle: the valve would never close.")
        object.__setattr__(self, "duration_deg", duration)

    @property
    def peak_deg(self) -> float:
        """Angle of full lift in [0, 720), the lobe centre."""
        return turn_deg(self.open_deg + self.duration_deg / 2, CYCLE_DEG)

    def lift_mm(self, cycle_deg: float) -> float:
        """Lift along the valve's axis at any angle of the cycle, in [0, max_lift].

        At half of the rise it is half of the full lift.
        """
        return self.max_lift_mm * _law(self._rise_part(number("cycle_deg", cycle_deg)))

    def velocity_mm_per_deg(self, cycle_deg: float) -> float:
        """Change of lift per crank degree, positive while opening.

        >>> LiftCurve(340, 600, 10).velocity_mm_per_deg(470)
        0.0
        """
        u = self._rise_part(number("cycle_deg", cycle_deg))
        opening = turn_deg(cycle_deg - self.open_deg, CYCLE_DEG) < self.duration_deg / 2
        slope = 30 * (u * (1 - u)) ** 2 * self.max_lift_mm / (self.duration_deg / 2)
        return slope if opening else 0.0 - slope

    def angles_at_lift_deg(self, lift_mm: float) -> tuple[float, float]:
        """Angles in [0, 720) at which the opening and the closing valve passes this lift.

        >>> LiftCurve(340, 600, 10).angles_at_lift_deg(5)
        (405.0, 535.0)
        """
        number("lift_mm", lift_mm, at_least=0, at_most=self.max_lift_mm)
        along = _part_of_rise(lift_mm / self.max_lift_mm) * self.duration_deg / 2
        closes = self.open_deg + self.duration_deg
        return turn_deg(self.open_deg + along, CYCLE_DEG), turn_deg(closes - along, CYCLE_DEG)

    def retarded(self, crank_deg: float) -> LiftCurve:
        """Shift the whole curve later by crank degrees; negative advances.

        >>> LiftCurve(340, 600, 10).retarded(-20).peak_deg
        450.0
        """
        number("crank_deg", crank_deg)
        return LiftCurve(
            turn_deg(self.open_deg + crank_deg, CYCLE_DEG),
            turn_deg(self.close_deg + crank_deg, CYCLE_DEG),
            self.max_lift_mm,
        )

    def _rise_part(self, cycle_deg: float) -> float:
        """How far up the rise, or still up the fall, in [0, 1]."""
        past = (cycle_deg - self.open_deg) % CYCLE_DEG
        half = self.duration_deg / 2
        part = (past if past < half else self.duration_deg - past) / half
        return max(part, 0.0)


def lift_curve(
    events: ValveEvents, valve: ValveKind, max_lift_mm: float, *, at_lift_mm: float = 0.0
) -> LiftCurve:
    """Make the curve of one valve from its events.

    Events stated at a checking lift ``at_lift_mm`` are met at that lift; the seat is then left
    earlier and reached later, as the law has it. Raises InputError when that would keep the
    valve open for more than a cycle.

    >>> lift_curve(ValveEvents(20, 60, 60, 20), "intake", 10).open_deg
    340.0
    """
    number("max_lift_mm", max_lift_mm, above=0)
    number("at_lift_mm", at_lift_mm, at_least=0, below=max_lift_mm)
    part = _part_of_rise(at_lift_mm / max_lift_mm)
    duration = events.duration_deg(valve)
    seat_to_seat = duration / (1 - part)
    if seat_to_seat >= CYCLE_DEG:
        refuse("at_lift_mm", at_lift_mm, "would keep the valve open for a whole cycle.")
    earlier = (seat_to_seat - duration) / 2
    return LiftCurve(
        turn_deg(events.open_deg(valve) - earlier, CYCLE_DEG),
        turn_deg(events.close_deg(valve) + earlier, CYCLE_DEG),
        max_lift_mm,
    )


def _law(u: float) -> float:
    return u * u * u * (10 + u * (6 * u - 15))


def _part_of_rise(part_of_lift: float) -> float:
    """Turn the law round; it rises steadily from 0 to 1."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _law(middle) < part_of_lift:
            low = middle
        else:
            high = middle
    return high if part_of_lift > 0 else 0.0
