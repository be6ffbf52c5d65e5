"""Family `piston-drop`: how far a piston has gone down at a crank angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import cylinder_section
from quizsvc.figures.cylinder_section import CylinderSection
from quizsvc.figures.section_valves import SectionValve
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.items.piston_ideas import (
    Crank,
    a_crank,
    even_drop_mm,
    reversed_lean_drop_mm,
    rodless_drop_mm,
    stroke_as_throw_drop_mm,
)
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet

ASKED = Asked("drop_mm", "mm", 1)
TOLERANCE_MM = 0.1


@dataclass(frozen=True, slots=True)
class At:
    crank: Crank
    crank_deg: float


IDEAS: tuple[Idea[At], ...] = (
    Idea(
        "piston-moves-evenly",
        lambda at: even_drop_mm(at.crank, at.crank_deg),
        "That takes the same distance for every degree.",
    ),
    Idea(
        "rod-forgotten",
        lambda at: rodless_drop_mm(at.crank, at.crank_deg),
        "That leaves the lean of the rod out.",
    ),
    Idea(
        "rod-lean-reversed",
        lambda at: reversed_lean_drop_mm(at.crank, at.crank_deg),
        "That takes the lean of the rod off instead of adding it.",
    ),
    Idea(
        "stroke-for-throw",
        lambda at: stroke_as_throw_drop_mm(at.crank, at.crank_deg),
        "That uses the stroke as the throw.",
    ),
    Idea(
        "measured-from-bottom",
        lambda at: at.crank.stroke_mm - at.crank.slider.drop_mm(at.crank_deg),
        "That is the distance from BDC.",
    ),
    Idea(
        "cam-degrees-for-piston",
        lambda at: at.crank.slider.drop_mm(at.crank_deg / 2),
        "That halves the crank angle, as if the piston hung on the camshaft.",
    ),
    Idea(
        "sideways-for-down",
        lambda at: at.crank.throw_mm * abs(math.sin(math.radians(at.crank_deg))),
        "That is how far the crankpin stands to the side.",
    ),
)


@family(
    "piston-drop",
    version=1,
    topic="piston",
    title="Piston drop",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("stroke_mm", "rod_mm", "crank_deg"),
    asks="drop_mm",
    key_follows="Height of the piston pin at TDC, throw + rod, less its height now, "
    "r·cos θ + √(L² − (r·sin θ)²).",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    crank = a_crank(sheet, draw, level)
    up = level is Level.DIAGNOSE and draw.chance(0.5)
    at = At(crank, float(5 * (draw.integer(38, 69) if up else draw.integer(3, 34))))
    value = crank.slider.drop_mm(at.crank_deg)
    wrong = wrong_answers(IDEAS, at)
    steps, story, keep = _steps(at, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_MM)
        story, keep = f"A depth gauge stands in the plug hole. {said.sentence} ", said.keep
        steps += (said.step,)
    state = _section(sheet, at)
    return Question(
        prompt=(
            f"Stroke {plain(crank.stroke_mm)} mm, rod {plain(crank.rod_mm)} mm between centres, "
            f"piston pin on the bore axis. The crankshaft stands {degrees(at.crank_deg)} after "
            f"TDC of a cylinder. {story}How far is its piston below TDC? {answer_in('mm', 1)}"
        ),
        givens={
            "stroke_mm": Given(crank.stroke_mm, "mm"),
            "rod_mm": Given(crank.rod_mm, "mm"),
            "crank_deg": Given(at.crank_deg, "°"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_MM,
        wrong=wrong,
        keep=keep,
        right_because="Throw and leaning rod together give the pin's height.",
        reference="slider-crank geometry, exact",
        **pictured(cylinder_section, state),
    )


def _section(sheet: EngineSheet, at: At) -> CylinderSection:
    """Cut the cylinder open; both valves shut, since which TDC it was is not said."""
    v = sheet.valves
    return CylinderSection(
        sheet.piston.bore_mm,
        at.crank.stroke_mm,
        at.crank.rod_mm,
        at.crank_deg,
        SectionValve(0.0, v.intake_head_mm, v.intake_tilt_deg, v.intake_recess_mm),
        SectionValve(0.0, v.exhaust_head_mm, v.exhaust_tilt_deg, v.exhaust_recess_mm),
        asked="drop",
        end=words_of_sheet(sheet).end,
    )


def _steps(at: At, value: float) -> tuple[Step, ...]:
    throw, rod = at.crank.throw_mm, at.crank.rod_mm
    angle = math.radians(at.crank_deg)
    across, pin = throw * math.sin(angle), throw * math.cos(angle)
    upright = math.sqrt(rod**2 - across**2)
    deg = degrees(at.crank_deg)
    return (
        Step(
            "The crankpin goes round on the throw, half of the stroke; the rod leans over and "
            "reaches less high.",
        ),
        Step(f"Throw r = {plain(at.crank.stroke_mm)} ÷ 2 = {plain(throw)} mm.", throw, "mm"),
        Step(f"At TDC the piston pin is r + L = {plain(throw + rod)} mm high.", throw + rod, "mm"),
        Step(
            f"At {deg} the crankpin is {across:.1f} mm to the side (r·sin θ) and {pin:.1f} mm up "
            "(r·cos θ).".replace("-", "−"),
        ),
        Step(f"The rod reaches √(L² − {abs(across):.1f}²) = {upright:.1f} mm up.", upright, "mm"),
        Step(
            f"Drop: {plain(throw + rod)} − ({pin:.1f} + {upright:.1f}) = {value:.1f} mm.".replace(
                "(-", "(−"
            ),
            value,
            "mm",
        ),
    )
