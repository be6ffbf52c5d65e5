"""An item's curve: the chance of a right answer over the level, and where it tells most."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from quizsvc.figures import parts
from quizsvc.figures.chart import Axes, frame
from quizsvc.figures.scene import (
    Anchor,
    Dash,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

HEIGHT = 330.0
REACH = 3.0  # logits to each side
_AXES = Axes(64.0, 52.0, 440.0, 260.0, -REACH, REACH, 0.0, 1.0)
_STEPS = 60


@dataclass(frozen=True, slots=True)
class ItemCurve:
    """Slope, difficulty (logits) and chance of guessing of the fitted item."""

    slope: float
    difficulty: float
    guessing: float = 0.0

    def chance(self, level: float) -> float:
        raw = 1.0 / (1.0 + exp(-self.slope * (level - self.difficulty)))
        return self.guessing + (1.0 - self.guessing) * raw

    def information(self, level: float) -> float:
        """Return Fisher's information, as in Birnbaum 1968 for an item that can be guessed."""
        p = self.chance(level)
        part = (p - self.guessing) / (1.0 - self.guessing)
        return self.slope**2 * part**2 * (1.0 - p) / p


def tells_most_at(state: ItemCurve) -> float:
    """Return the level at which the item tells most, to a tenth of a logit."""
    levels = [n / 10 for n in range(-60, 61)]
    return max(levels, key=state.information)


def describe(state: ItemCurve) -> str:
    return (
        f"Chance of a right answer rising from {state.chance(-REACH):.0%} to "
        f"{state.chance(REACH):.0%} over the level; the item tells most at level "
        f"{tells_most_at(state):+.1f}."
    )


def draw(state: ItemCurve) -> Scene:
    across = [(float(n), f"{n:+d}" if n else "0") for n in range(-3, 4)]
    up = [(n / 4, f"{25 * n} %") for n in range(5)]
    shapes: list[Shape] = frame(_AXES, across, up, "level (logits)", "chance right")
    levels = [-REACH + 2 * REACH * n / _STEPS for n in range(_STEPS + 1)]
    most = max(state.information(level) for level in levels)
    told = tuple(_AXES.at(v, state.information(v) / most) for v in levels)
    chance = tuple(_AXES.at(v, state.chance(v)) for v in levels)
    peak = min(REACH, max(-REACH, tells_most_at(state)))
    shapes += [
        Polyline(told, Style(Ink.ACCENT, dash=Dash.DASHED), name="information"),
        Polyline(chance, Style(Ink.LINE, weight=Weight.THICK), name="chance"),
        Lines(((_AXES.at(peak, 0), _AXES.at(peak, 1)),), parts.CENTRE_LINE),
        Label((_beside_the_edges(_AXES.x(peak)), _AXES.top - 8), "tells most", halo=True),
        Label((_AXES.right, _AXES.top - 30), "dashed: what it tells", anchor=Anchor.END),
    ]
    return Scene(parts.WIDTH, HEIGHT, tuple(shapes), describe(state))


def _beside_the_edges(x: float) -> float:
    """Keep a word that is centred on ``x`` within the picture."""
    return min(_AXES.right - 12, max(_AXES.left + 12, x))
