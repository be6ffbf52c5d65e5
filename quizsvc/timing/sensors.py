"""Position sensors: tone wheels, times and the correlation of cam to crank signal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.timing.cycle import CYCLE_DEG
from quizsvc.timing.quantity import number, refuse, turn_deg, whole


@dataclass(frozen=True, slots=True)
class ToneWheel:
    """A toothed signal wheel, named by its places: a 60−2 wheel has 58 teeth.

    Teeth are numbered 1 to ``teeth`` as they pass the sensor, 1 the first after the gap (or at
    ``first_edge_deg`` if none is missing). ``first_edge_deg`` is the crank angle at which that
    tooth's leading edge meets the sensor; ``turns_per_crank_turn`` is 1 on the crank, 0.5 on
    a cam. Each tooth is taken half as wide as its place.

    >>> wheel = ToneWheel(60, 2)
    >>> wheel.teeth, wheel.step_deg, wheel.gap_deg
    (58, 6.0, 18.0)
    """

    places: int
    missing: int = 0
    first_edge_deg: float = 0.0
    turns_per_crank_turn: float = 1.0

    def __post_init__(self) -> None:
        whole("places", self.places, at_least=1)
        whole("missing", self.missing, at_least=0, at_most=self.places - 1)
        number("first_edge_deg", self.first_edge_deg)
        number("turns_per_crank_turn", self.turns_per_crank_turn, above=0)

    @property
    def teeth(self) -> int:
        """Teeth that are there: places less the missing ones."""
        return self.places - self.missing

    @property
    def step_deg(self) -> float:
        """Degrees of the wheel from tooth to tooth: 360 / places."""
        return 360 / self.places

    @property
    def gap_deg(self) -> float:
        """Degrees of the wheel from the last tooth before the gap to the first after it."""
        return (self.missing + 1) * self.step_deg

    @property
    def step_crank_deg(self) -> float:
        """Crank degrees from tooth to tooth."""
        return self.step_deg / self.turns_per_crank_turn

    def edge_deg(self, tooth: int) -> float:
        """Crank angle in [0, 720) at which a tooth's leading edge first meets the sensor.

        >>> ToneWheel(36, 1, first_edge_deg=90).edge_deg(10)
        180.0
        """
        past = whole("tooth", tooth, at_least=1, at_most=self.teeth) - 1
        return turn_deg(self.first_edge_deg + past * self.step_crank_deg, CYCLE_DEG)

    def tooth_at(self, crank_deg: float) -> int:
        """Number of the tooth whose leading edge was the last to meet the sensor.

        In the gap it is the last tooth before it; a tooth counts from its edge on.

        >>> ToneWheel(60, 2).tooth_at(12), ToneWheel(60, 2).tooth_at(359)
        (3, 58)
        """
        return min(int(self._place(crank_deg)) + 1, self.teeth)

    def level(self, crank_deg: float) -> int:
        """Signal at a crank angle: 1 while a tooth stands at the sensor, else 0.

        >>> [ToneWheel(36, 1).level(deg) for deg in (0, 4, 6, 10, 355)]
        [1, 1, 0, 1, 0]
        """
        place = self._place(crank_deg)
        return int(place < self.teeth and place - int(place) < 0.5)

    def _place(self, crank_deg: float) -> float:
        """Places passed since the first edge, in [0, places)."""
        turned = (number("crank_deg", crank_deg) - self.first_edge_deg) * self.turns_per_crank_turn
        place = turn_deg(turned) / self.step_deg
        # An edge computed back from its own angle must not fall a hair before itself.
        return float(round(place)) % self.places if _is_whole(place) else place


def degrees_to_ms(crank_deg: float, rpm: float) -> float:
    """Milliseconds the crank takes for an angle: deg / (6 rpm) seconds.

    >>> round(degrees_to_ms(1, 3000), 5)
    0.05556
    """
    return number("crank_deg", crank_deg) / (6 * number("rpm", rpm, above=0)) * 1000


def ms_to_degrees(milliseconds: float, rpm: float) -> float:
    """Crank degrees in a time.

    >>> ms_to_degrees(10, 1000)
    60.0
    """
    return number("milliseconds", milliseconds) * 6 * number("rpm", rpm, above=0) / 1000


def correlation_error_deg(specified_deg: float, measured_deg: float) -> float:
    """Crank degrees by which a cam edge comes late against its crank position, in (-360, 360].

    Positive is retarded. Both on the cycle's scale.

    >>> correlation_error_deg(700, 2), correlation_error_deg(100, 80)
    (22.0, -20.0)
    """
    late = turn_deg(
        number("measured_deg", measured_deg) - number("specified_deg", specified_deg), CYCLE_DEG
    )
    return late - CYCLE_DEG if late > 360 else late


def teeth_of_error(error_deg: float, tooth_deg: float) -> int:
    """Say how many whole teeth a correlation error stands for, to the nearest; positive lags.

    Raises InputError halfway between two teeth, where wear or a bent wheel is as likely.

    >>> teeth_of_error(-19, 20), teeth_of_error(4, 20)
    (-1, 0)
    """
    teeth = number("error_deg", error_deg) / number("tooth_deg", tooth_deg, above=0)
    if abs(abs(teeth) % 1 - 0.5) < 1e-9:
        refuse("error_deg", error_deg, "stands halfway between two teeth.")
    return math.floor(teeth + 0.5)


def _is_whole(place: float) -> bool:
    return abs(place - round(place)) < 1e-9
