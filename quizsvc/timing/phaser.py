"""A cam phaser: how far it moves a cam, and what that does to events and gap."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.timing.clearance import LeastGap, ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.quantity import number, refuse, turn_deg
from quizsvc.timing.valves import ValveEvents, ValveKind


@dataclass(frozen=True, slots=True)
class Phaser:
    """Range of a phaser in crank degrees from its parked position, which the events state.

    ``advance_deg`` and ``retard_deg`` are both counted positive. Cam degrees are half.

    >>> Phaser("intake", advance_deg=50).events(ValveEvents(0, 60, 50, 10), 30)
    ValveEvents(ivo_btdc=30.0, ivc_abdc=30.0, evo_bbdc=50.0, evc_atdc=10.0)
    """

    valve: ValveKind
    advance_deg: float = 0.0
    retard_deg: float = 0.0

    def __post_init__(self) -> None:
        if self.valve not in {"intake", "exhaust"}:
            refuse("valve", self.valve, "is no valve.", 'Say "intake" or "exhaust".')
        number("advance_deg", self.advance_deg, at_least=0, at_most=180)
        number("retard_deg", self.retard_deg, at_least=0, at_most=180)

    @property
    def range_cam_deg(self) -> float:
        """Whole range in cam degrees: half the crank degrees.

        >>> Phaser("exhaust", retard_deg=40).range_cam_deg
        20.0
        """
        return (self.advance_deg + self.retard_deg) / 2

    def events(self, parked: ValveEvents, advanced_deg: float) -> ValveEvents:
        """Events with the phaser moved; negative is retarded. Refuses what it cannot reach."""
        number("advanced_deg", advanced_deg, at_least=-self.retard_deg, at_most=self.advance_deg)
        return parked.advanced(
            advanced_deg, intake=self.valve == "intake", exhaust=self.valve == "exhaust"
        )

    def overlap_range_deg(self, parked: ValveEvents) -> tuple[float, float]:
        """Least and greatest overlap over the range.

        >>> Phaser("intake", advance_deg=50).overlap_range_deg(ValveEvents(0, 60, 50, 10))
        (10.0, 60.0)
        """
        ends = (-self.retard_deg, self.advance_deg)
        first, last = sorted(self.events(parked, end).overlap_deg for end in ends)
        return first, last

    def least_gap(self, parked: ValveRoom, slider: SliderCrank) -> LeastGap:
        """Least gap over the range, degree by degree, at least at both ends.

        Between, the gap can be less than at either end when the range carries full lift past TDC.
        """
        span = self.advance_deg + self.retard_deg
        steps = max(1, round(span))
        shifts = [self.retard_deg - span * i / steps for i in range(steps + 1)]
        gaps = (parked.retarded(shift).least_gap(slider) for shift in shifts)
        return min(gaps, key=lambda gap: gap.gap_mm)


def phase_error_deg(commanded_deg: float, measured_deg: float) -> float:
    """Lag of a phaser behind its command in crank degrees, in (-180, 180]; both as advance.

    >>> phase_error_deg(30, 22)
    8.0
    """
    off = turn_deg(number("commanded_deg", commanded_deg) - number("measured_deg", measured_deg))
    return off - 360 if off > 180 else off
