"""What people make of a piston's height when they leave something out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import centred_slider
from quizsvc.items.model import Level
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import SliderCrank


@dataclass(frozen=True, slots=True)
class Crank:
    """Stroke and rod of an engine, its piston pins on the bore axis."""

    stroke_mm: float
    rod_mm: float

    @property
    def slider(self) -> SliderCrank:
        return centred_slider(self.stroke_mm, self.rod_mm)

    @property
    def throw_mm(self) -> float:
        return self.stroke_mm / 2


def a_crank(sheet: EngineSheet, draw: Draw, level: Level) -> Crank:
    """Choose stroke and rod: the sheet's own, or at times another engine's."""
    if level is Level.RECALL or draw.chance(0.6):
        return Crank(sheet.piston.stroke_mm, sheet.piston.rod_mm)
    stroke = float(2 * draw.integer(34, 50))
    return Crank(stroke, float(round(stroke * draw.step(1.55, 1.9, 0.05))))


def even_drop_mm(crank: Crank, deg: float) -> float:
    """Drop if the piston moved evenly, down in half a turn and up again in the other."""
    past = deg % 360
    return crank.stroke_mm * min(past, 360 - past) / 180


def rodless_drop_mm(crank: Crank, deg: float) -> float:
    """Drop with a rod that never leans: throw · (1 − cos θ)."""
    return crank.throw_mm * (1 - math.cos(math.radians(deg)))


def reversed_lean_drop_mm(crank: Crank, deg: float) -> float:
    """Drop if the lean of the rod took away what it really adds."""
    return 2 * rodless_drop_mm(crank, deg) - crank.slider.drop_mm(deg)


def stroke_as_throw_drop_mm(crank: Crank, deg: float) -> float | None:
    """Drop with a throw as long as the stroke."""
    across = crank.stroke_mm * math.sin(math.radians(deg))
    if crank.rod_mm <= abs(across):
        return None
    lean = crank.rod_mm - math.sqrt(crank.rod_mm**2 - across**2)
    return crank.stroke_mm * (1 - math.cos(math.radians(deg))) + lean
