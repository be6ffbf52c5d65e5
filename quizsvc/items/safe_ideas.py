"""Where people put a crankshaft that is to be out of the valves' way."""

from __future__ import annotations

from itertools import pairwise

from quizsvc.items.engine import Engine

NEAR_DEG = 1.5


def spacing_deg(engine: Engine) -> float:
    """Return the widest gap between neighbouring TDCs of a turn."""
    tdcs = engine.tdcs
    return max(later - earlier for earlier, later in pairwise((*tdcs, tdcs[0] + 360)))


def not_safe(engine: Engine, deg: float) -> float | None:
    """Return the angle in whole degrees unless it is a safe one too, or no whole number."""
    whole = float(round(deg))
    if abs(whole - deg) > 1e-6 or whole >= 360:
        return None
    apart = (abs((whole - safe + 180) % 360 - 180) for safe in engine.safe_deg)
    return whole if min(apart) > NEAR_DEG else None
