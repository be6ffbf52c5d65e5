"""Ways in which people go wrong from one cylinder to another."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.items.engine import Engine
from quizsvc.items.model import Value


@dataclass(frozen=True, slots=True)
class Of:
    """A cylinder of an engine."""

    engine: Engine
    cylinder: int

    def along(self, places: int) -> int:
        """Return the cylinder so many places on in the firing order."""
        order = self.engine.order
        return order[(order.index(self.cylinder) + places) % len(order)]

    @property
    def facing(self) -> int | None:
        return self.engine.facing[self.cylinder]


def neighbour(of: Of) -> int:
    """Return the cylinder numbered next, or for the last one the one before."""
    return of.cylinder + 1 if of.cylinder < len(of.engine.order) else of.cylinder - 1


def cylinder_text(value: Value) -> str:
    return "no other cylinder" if value == "none" else f"cylinder {value}"
