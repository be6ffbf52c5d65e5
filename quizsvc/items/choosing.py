"""Deterministic choice by seed: the same seed gives the same values for ever.

Python promises only ``random()`` to stay the same between versions, not ``shuffle`` or
``choice``, and items must be drawn again years later; hence these few lines of SplitMix64
(Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators").
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b
from typing import TypeVar

T = TypeVar("T")
_MASK = (1 << 64) - 1


class Draw:
    """A stream of choices fixed by its parts (for example family, version, sheet, seed)."""

    def __init__(self, *parts: object) -> None:
        text = "\x1f".join(str(part) for part in parts)
        self._state = int.from_bytes(blake2b(text.encode(), digest_size=8).digest(), "big")

    def _next(self) -> int:
        self._state = (self._state + 0x9E3779B97F4A7C15) & _MASK
        z = self._state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
        return z ^ (z >> 31)

    def integer(self, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``, both included."""
        # The bias of the modulus is below 1e-15 for the small ranges used here.
        return low + self._next() % (high - low + 1)

    def step(self, low: float, high: float, step: float) -> float:
        """Return ``low + k·step`` not above ``high``, rounded to the step's decimals."""
        count = int((high - low) / step + 1e-9)
        return round(low + self.integer(0, count) * step, 6)

    def choice(self, things: Sequence[T]) -> T:
        return things[self.integer(0, len(things) - 1)]

    def shuffled(self, things: Sequence[T]) -> tuple[T, ...]:
        rest = list(things)
        for i in range(len(rest) - 1, 0, -1):
            j = self.integer(0, i)
            rest[i], rest[j] = rest[j], rest[i]
        return tuple(rest)

    def sample(self, things: Sequence[T], count: int) -> tuple[T, ...]:
        return self.shuffled(things)[:count]

    def chance(self, share: float) -> bool:
        """Return True in ``share`` of the draws."""
        return self._next() / (_MASK + 1) < share
