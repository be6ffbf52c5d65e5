"""Gap between one valve and its piston over the cycle.

The gap is measured along the bore: gap = drop + room − lift·cos(tilt). ``room`` is the distance
from the closed valve's lowest edge to the crown or pocket floor under it at TDC, along the bore.
It holds for a flat crown or a pocket floor square to the bore, where the valve's lowest edge
lands first. Neglected: pocket side walls, a floor cut parallel to a tilted valve (it takes
lift·sin(tilt)·tan(tilt) more, 0.35 mm for 5 mm lift at 15°), stretch, heat and worn bearings;
the customary least gaps are there to cover them. A computed gap never replaces a measured one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.quantity import number, refuse, turn_deg
from quizsvc.timing.valves import ValveKind

LEAST_INTAKE_GAP_MM = 2.03  # 0.080 in; common practice, no source
LEAST_EXHAUST_GAP_MM = 2.54  # 0.100 in; common practice, no source
SCAN_DEG = 1.0  # the gap bends so little that a dip between two samples stays below 0.003 mm
HALVINGS = 40
GOLDEN = (math.sqrt(5) - 1) / 2


@dataclass(frozen=True, slots=True)
class LeastGap:
    """The least gap of one valve, and where: degrees after its cylinder's firing TDC."""

    gap_mm: float
    own_deg: float


@dataclass(frozen=True, slots=True)
class Meeting:
    """A part of the cycle in which valve and piston would have to overlap, own angles."""

    from_deg: float
    to_deg: float


@dataclass(frozen=True, slots=True)
class ValveRoom:
    """One valve over its piston: lift curve, room at TDC, tilt of the valve from the bore.

    >>> intake = ValveRoom("intake", LiftCurve(410, 670, 10), room_mm=4, tilt_deg=60)
    >>> round(intake.gap_mm(SliderCrank(80, 140), 540), 6)  # 80 + 4 − 10·cos 60°
    79.0
    """

    valve: ValveKind
    curve: LiftCurve
    room_mm: float
    tilt_deg: float = 0.0
    _cosine: float = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.valve not in {"intake", "exhaust"}:
            refuse("valve", self.valve, "is no valve.", 'Say "intake" or "exhaust".')
        number("room_mm", self.room_mm, above=0)
        tilt = number("tilt_deg", self.tilt_deg, above=-90, below=90)
        object.__setattr__(self, "_cosine", math.cos(math.radians(tilt)))

    def gap_mm(self, slider: SliderCrank, own_deg: float) -> float:
        """Gap along the bore at an angle after the cylinder's firing TDC.

        Zero where valve and piston touch; below zero, how far they would have to overlap.
        """
        number("own_deg", own_deg)
        return self.gap_from_mm(slider.drop_mm(own_deg), self.curve.lift_mm(own_deg))

    def gap_from_mm(self, drop_mm: float, lift_mm: float) -> float:
        """Gap along the bore at a piston drop and a valve lift: drop + room − lift·cos(tilt).

        >>> ValveRoom("exhaust", LiftCurve(120, 380, 10), room_mm=5).gap_from_mm(1.5, 2.0)
        4.5
        """
        return drop_mm + self.room_mm - lift_mm * self._cosine

    def least_gap(self, slider: SliderCrank) -> LeastGap:
        """Find the least gap while the valve is off its seat.

        By samples at each degree of the opening, then golden-section search about the best.
        """
        angles = self._opening()
        best = min(range(len(angles)), key=lambda i: self.gap_mm(slider, angles[i]))
        low, high = angles[max(best - 1, 0)], angles[min(best + 1, len(angles) - 1)]
        found = _lowest(lambda deg: self.gap_mm(slider, deg), low, high)
        at = min(found, angles[best], key=lambda deg: self.gap_mm(slider, deg))
        return LeastGap(self.gap_mm(slider, at), turn_deg(at, CYCLE_DEG))

    def meetings(self, slider: SliderCrank) -> tuple[Meeting, ...]:
        """Find where valve and piston would overlap; empty when they never meet."""
        found: list[Meeting] = []
        begin: float | None = None
        before = self.curve.open_deg  # free: the valve is on its seat
        for here in self._reachable(slider):
            touches = self.gap_mm(slider, here) <= 0
            if touches and begin is None:
                begin = self._border(slider, free=max(before, here - SCAN_DEG), touching=here)
            elif not touches and begin is not None:
                found.append(Meeting(begin, self._border(slider, free=here, touching=before)))
                begin = None
            before = here
        return tuple(found)

    def retarded(self, crank_deg: float) -> ValveRoom:
        """Turn its cam later against the crank; negative advances."""
        return ValveRoom(self.valve, self.curve.retarded(crank_deg), self.room_mm, self.tilt_deg)

    def _opening(self) -> list[float]:
        """Angles from opening to closing, about a degree apart, counted on past 720."""
        steps = math.ceil(self.curve.duration_deg / SCAN_DEG)
        step = self.curve.duration_deg / steps
        return [self.curve.open_deg + i * step for i in range(steps + 1)]

    def _reachable(self, slider: SliderCrank) -> list[float]:
        """Of the opening, the angles at which the piston is high enough to be reached at all."""
        reach = self.curve.max_lift_mm * self._cosine - self.room_mm
        if reach <= 0:
            return []
        if reach >= slider.travel_mm:
            return self._opening()
        # Two degrees more: the rising piston's angle differs a little with a pin offset, and
        # the first and last sample are to be free.
        near = slider.angle_for_drop_deg(reach) + 2 * (slider.bdc_deg - slider.tdc_deg - 180) + 2
        return [deg for deg in self._opening() if abs((deg + 180) % 360 - 180) <= near]

    def _border(self, slider: SliderCrank, *, free: float, touching: float) -> float:
        for _ in range(HALVINGS):
            middle = (free + touching) / 2
            if self.gap_mm(slider, middle) > 0:
                free = middle
            else:
                touching = middle
        return turn_deg(touching, CYCLE_DEG)


def room_mm(
    recess_mm: float, pocket_mm: float, *, gasket_mm: float = 0.0, deck_mm: float = 0.0
) -> float:
    """Distance along the bore from closed valve to crown or pocket floor at TDC.

    ``recess_mm``: lowest edge of the closed valve above the head's plane; ``deck_mm``: crown
    below the block's deck at TDC, negative when it stands proud.

    >>> room_mm(1.5, 3, gasket_mm=1, deck_mm=-0.5)
    5.0
    """
    number("recess_mm", recess_mm)
    number("pocket_mm", pocket_mm, at_least=0)
    number("gasket_mm", gasket_mm, at_least=0)
    return recess_mm + pocket_mm + gasket_mm + number("deck_mm", deck_mm)


def _lowest(value_at: Callable[[float], float], low: float, high: float) -> float:
    """Golden-section search for the least value between two angles."""
    for _ in range(HALVINGS):
        inner, outer = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        if value_at(inner) < value_at(outer):
            high = outer
        else:
            low = inner
    return (low + high) / 2
