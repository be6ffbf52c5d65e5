"""Ways in which people go wrong about the stroke a cylinder is on."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.items.engine import Engine
from quizsvc.items.options import Idea
from quizsvc.timing.cycle import Stroke, degrees_after_firing_tdc, stroke_at


@dataclass(frozen=True, slots=True)
class At:
    """A cylinder of an engine at a crank angle."""

    engine: Engine
    cylinder: int
    crank_deg: float

    @property
    def firing_deg(self) -> float:
        return self.engine.firing_deg[self.cylinder]

    @property
    def own_deg(self) -> float:
        """Crank degrees since the cylinder's firing TDC, in [0, 720)."""
        return degrees_after_firing_tdc(self.firing_deg, self.crank_deg)

    @property
    def stroke(self) -> Stroke:
        return stroke_at(self.firing_deg, self.crank_deg)

    def clear_by(self, clear_deg: float) -> bool:
        """Say whether the piston is at least so far from either dead centre."""
        return clear_deg <= self.own_deg % 180 <= 180 - clear_deg


def all_clear(engine: Engine, crank_deg: float, clear_deg: float = 8.0) -> bool:
    """Say whether no cylinder stands so near a dead centre that its stroke is a matter of taste."""
    return all(At(engine, cylinder, crank_deg).clear_by(clear_deg) for cylinder in engine.order)


def _row_deg(at: At) -> float:
    """Firing angle of the cylinder if cylinders fired in the order of their numbers."""
    return sum(at.engine.intervals_deg[: at.cylinder - 1])


_CHANGED = {Stroke.EXHAUST: "intake", Stroke.INTAKE: "exhaust"}
STROKE_IDEAS: tuple[Idea[At], ...] = (
    Idea(
        "firing-for-exhaust-tdc",
        lambda at: str(stroke_at(0, at.own_deg + 360)),
        "That counts from exhaust TDC: one whole turn out.",
    ),
    Idea(
        "order-read-backwards",
        lambda at: str(stroke_at(0, at.crank_deg + at.engine.firing_deg[at.cylinder])),
        "That adds the firing angle; a cylinder that fires later is behind, so take it off.",
    ),
    Idea(
        "row-for-order",
        lambda at: str(stroke_at(_row_deg(at), at.crank_deg)),
        "That goes by the cylinder's number instead of its place in the firing order.",
    ),
    Idea(
        "cylinder-one-for-all",
        lambda at: str(stroke_at(0, at.crank_deg)),
        "That is the stroke of cylinder 1.",
    ),
    Idea(
        "cam-degrees-in-cycle",
        lambda at: str(stroke_at(0, 2 * at.own_deg)),
        "That gives each stroke 90°, as on the camshaft.",
    ),
    Idea(
        "bottom-for-top",
        lambda at: str(stroke_at(0, at.own_deg - 180)),
        "That lets power begin at bottom dead centre.",
    ),
    Idea(
        "dead-centres-counted-from-one",
        lambda at: str(stroke_at(0, at.own_deg + 180)),
        "That counts firing TDC as one and so ends a stroke too far on.",
    ),
    Idea(
        "intake-before-exhaust",
        lambda at: _CHANGED.get(stroke_at(0, at.own_deg)),
        "After power the burnt gas must go out first.",
    ),
)
