"""Deterministic choice by seed: the same seed gives the same values for ever.

Python promises only ``random()`` to stay the same between versions, not ``shuffle`` or
``choice``, and items must be drawn again years later; hence these few lines over BLAKE2b
(RFC 7693), whose output is fixed by a standard.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b
from struct import unpack
from typing import TypeVar

T = TypeVar("T")
_WORDS = 1 << 64
_ONE_WORD = 12  # 12! is small against 2^64, so that one word fixes the order of so many things


class Draw:
    """A stream of choices fixed by its parts (for example family, version, sheet, seed)."""

    __slots__ = ("_blocks", "_name", "_words")

    def __init__(self, *parts: object) -> None:
        self._name = "\x1f".join(map(str, parts)).encode()
        self._blocks = 0
        self._words: list[int] = []

    def _next(self) -> int:
        """Return the next 64-bit word; a hash of name and block number gives eight."""
        if not self._words:
            block = blake2b(self._name, salt=self._blocks.to_bytes(16, "little"))
            self._words = list(unpack("<8Q", block.digest()))
            self._blocks += 1
        return self._words.pop()

    def integer(self, low: int, high: int) -> int:
        """Return a whole number from ``low`` to ``high``, both included."""
        # The bias of the modulus is below 1e-15 for the small ranges used here.
        return low + self._next() % (high - low + 1)

    def step(self, low: float, high: float, step: float) -> float:
        """Return ``low + k·step`` not above ``high``, rounded to the step's decimals."""
        count = int((high - low) / step + 1e-9)
        return round(low + self.integer(0, count) * step, 6)

    def choice(self, things: Sequence[T]) -> T:
        return things[self._next() % len(things)]

    def shuffled(self, things: Sequence[T]) -> tuple[T, ...]:
        rest = list(things)
        word = self._next() if len(rest) > 1 else 0
        for last in range(len(rest) - 1, 0, -1):
            if last >= _ONE_WORD:
                word = self._next()
            word, place = divmod(word, last + 1)
            rest[last], rest[place] = rest[place], rest[last]
        return tuple(rest)

    def sample(self, things: Sequence[T], count: int) -> tuple[T, ...]:
        return self.shuffled(things)[:count]

    def chance(self, share: float) -> bool:
        """Return True in ``share`` of the draws."""
        return self._next() / _WORDS < share
