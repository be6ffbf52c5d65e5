"""The chain tensioner: plunger extension, wear groove, and travel against loop growth."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from quizsvc.timing.path import DrivePath
from quizsvc.timing.quantity import number, refuse, whole

HALVINGS = 50
STEPS = 64


@dataclass(frozen=True, slots=True)
class Plunger:
    """A plunger: its extension with a new chain, where the wear groove shows, and its longest.

    >>> plunger = Plunger(extension_new_mm=6, groove_at_mm=14, longest_mm=20)
    >>> plunger.travel_mm(15.5), plunger.groove_seen(15.5), plunger.left_mm(15.5)
    (9.5, True, 4.5)
    """

    extension_new_mm: float
    groove_at_mm: float
    longest_mm: float

    def __post_init__(self) -> None:
        number("extension_new_mm", self.extension_new_mm, at_least=0)
        number("groove_at_mm", self.groove_at_mm, above=self.extension_new_mm)
        number("longest_mm", self.longest_mm, at_least=self.groove_at_mm)

    def travel_mm(self, extension_now_mm: float) -> float:
        """How far the plunger has come out since the chain was new. It is no elongation."""
        return self._extension(extension_now_mm) - self.extension_new_mm

    def groove_seen(self, extension_now_mm: float) -> bool:
        """Whether the wear groove stands clear of the body."""
        return self._extension(extension_now_mm) >= self.groove_at_mm

    def left_mm(self, extension_now_mm: float) -> float:
        """What is left until the plunger can follow no further."""
        return self.longest_mm - self._extension(extension_now_mm)

    def _extension(self, extension_now_mm: float) -> float:
        return number("extension_now_mm", extension_now_mm, at_least=0, at_most=self.longest_mm)


def moved_wheel(path: DrivePath, wheel_index: int, toward_deg: float, by_mm: float) -> DrivePath:
    """Lay the path again with one wheel or shoe moved, clockwise from straight up."""
    index = whole("wheel_index", wheel_index, at_least=0, at_most=len(path.wheels) - 1)
    toward = math.radians(number("toward_deg", toward_deg))
    wheel = path.wheels[index]
    placed = replace(
        wheel,
        x_mm=wheel.x_mm + number("by_mm", by_mm) * math.sin(toward),
        y_mm=wheel.y_mm + by_mm * math.cos(toward),
    )
    return DrivePath((*path.wheels[:index], placed, *path.wheels[index + 1 :]), path.clockwise)


def travel_for_growth_mm(
    path: DrivePath, wheel_index: int, toward_deg: float, growth_mm: float, longest_mm: float
) -> float:
    """Find how far a tensioner wheel moves to take up a growth of the loop.

    Solved on the whole path, as the gain per mm depends on its angles (two mm of loop per mm
    at the most). Raises InputError when ``longest_mm`` of travel does not take it up.

    >>> from quizsvc.timing.path import PathWheel
    >>> pair = DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50)))
    >>> round(travel_for_growth_mm(pair, 1, 0, 8, 20), 6)
    4.0
    """
    wanted = path.length_mm + number("growth_mm", growth_mm, at_least=0)
    low, high = _bracket(path, wheel_index, toward_deg, wanted, longest_mm)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if moved_wheel(path, wheel_index, toward_deg, middle).length_mm < wanted:
            low = middle
        else:
            high = middle
    return high


def _bracket(
    path: DrivePath, index: int, toward_deg: float, wanted: float, longest_mm: float
) -> tuple[float, float]:
    step = number("longest_mm", longest_mm, above=0) / STEPS
    for i in range(STEPS):
        if moved_wheel(path, index, toward_deg, (i + 1) * step).length_mm >= wanted:
            return i * step, (i + 1) * step
    return refuse(
        "growth_mm", wanted - path.length_mm,
        f"is more than the tensioner takes up in {longest_mm:g} mm of travel.",
        "The chain is past its tensioner.",
    )  # fmt: skip
