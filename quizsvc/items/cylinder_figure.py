"""The cylinders of an engine at a crank angle, as the picture that several families show."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from quizsvc.figures.cylinder_phases import CylinderPhases, Phase, describe
from quizsvc.items.engine import Engine
from quizsvc.items.phrases import degrees
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import stroke_at

KEPT = 1024


@lru_cache(64)
def centred_slider(stroke_mm: float, rod_mm: float) -> SliderCrank:
    """Return the slider-crank with its pin on the bore axis, as prompts state it."""
    return SliderCrank(stroke_mm, rod_mm)


@dataclass(frozen=True, slots=True)
class Cylinders:
    """The state that a figure draws, and its alternative text."""

    state: CylinderPhases
    alt: str


@lru_cache(KEPT)
def cylinders_at(
    sheet: EngineSheet,
    engine: Engine,
    crank_deg: float,
    *,
    asked: int = 0,
    shown: bool = False,
    measured: int = 0,
) -> Cylinders:
    """Return every piston of the engine at its height, with the sheet's stroke and rod.

    ``asked`` and ``measured`` are cylinders (0 for none): whose stroke, whose drop. Kept for the
    angles last met, since prompts speak of whole fives of degrees.
    """
    slider = centred_slider(sheet.piston.stroke_mm, sheet.piston.rod_mm)
    names = _bank_names(engine)
    state = CylinderPhases(
        tuple(
            Phase(
                cylinder,
                slider.drop_mm(crank_deg - engine.tdc_deg[cylinder]),
                str(stroke_at(engine.firing_deg[cylinder], crank_deg)),
                shown=shown,
                asked=cylinder == asked,
                measured=cylinder == measured,
                bank=names[cylinder],
            )
            for cylinder in sorted(engine.order)
        ),
        sheet.piston.stroke_mm,
        f"Crankshaft {degrees(crank_deg)} after firing TDC of cylinder 1.",
    )
    return Cylinders(state, describe(state))


def phases_at(
    sheet: EngineSheet, engine: Engine, crank_deg: float, *, shown: bool = False
) -> CylinderPhases:
    """Return the state alone."""
    return cylinders_at(sheet, engine, crank_deg, shown=shown).state


def _bank_names(engine: Engine) -> dict[int, str]:
    sides = list(dict.fromkeys(engine.banks[cylinder] for cylinder in sorted(engine.banks)))
    if len(sides) == 1:
        return dict.fromkeys(engine.banks, "")
    words = {deg: f"Bank {'ABCDEFGH'[place]}" for place, deg in enumerate(sides)}
    return {cylinder: words[deg] for cylinder, deg in engine.banks.items()}
