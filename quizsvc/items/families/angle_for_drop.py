"""Family `angle-for-drop`: the crank angle at which a piston stands at a given depth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import piston_curve
from quizsvc.figures.piston_curve import PistonCurve
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.items.piston_ideas import Crank, a_crank
from quizsvc.sheets.schema import EngineSheet

ASKED = Asked("crank_deg", "°", 0)
TOLERANCE_DEG = 1.0


@dataclass(frozen=True, slots=True)
class At:
    crank: Crank
    drop_mm: float

    @property
    def crank_deg(self) -> float:
        return self.crank.slider.angle_for_drop_deg(self.drop_mm)


def _rodless_deg(at: At) -> float:
    return math.degrees(math.acos(1 - at.drop_mm / at.crank.throw_mm))


def _stroke_as_throw_deg(at: At) -> float | None:
    """Solve the drop for a throw as long as the stroke, where the rod allows it."""
    throw, rod = at.crank.stroke_mm, at.crank.rod_mm
    height = throw + rod - at.drop_mm
    cosine = (throw**2 + height**2 - rod**2) / (2 * throw * height)
    return math.degrees(math.acos(cosine)) if abs(cosine) <= 1 else None


IDEAS: tuple[Idea[At], ...] = (
    Idea(
        "piston-moves-evenly",
        lambda at: 180 * at.drop_mm / at.crank.stroke_mm,
        "That takes the same distance for every degree.",
    ),
    Idea("rod-forgotten", _rodless_deg, "That leaves the lean of the rod out."),
    Idea("stroke-for-throw", _stroke_as_throw_deg, "That uses the stroke as the throw."),
    Idea(
        "measured-from-bottom",
        lambda at: 180 - at.crank.slider.angle_for_drop_deg(at.crank.stroke_mm - at.drop_mm),
        "That measures the depth up from BDC.",
    ),
    Idea(
        "cam-degrees-for-piston",
        lambda at: at.crank_deg / 2,
        "That is halved, as if the piston hung on the camshaft.",
    ),
    Idea(
        "crank-angle-doubled",
        lambda at: 2 * at.crank_deg if at.crank_deg < 90 else None,
        "That is doubled; the piston follows the crankshaft degree by degree.",
    ),
)


@family(
    "angle-for-drop",
    version=1,
    topic="piston",
    title="Angle for a drop",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("stroke_mm", "rod_mm", "drop_mm"),
    asks="crank_deg",
    key_follows="The cosine rule on crank centre, crankpin and piston pin.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.TURNING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    crank = a_crank(sheet, draw, level)
    near = crank.slider.drop_mm(float(draw.integer(25, 150)))
    at = At(crank, round(near * 2) / 2)  # a depth one can set on a gauge
    value = at.crank_deg
    wrong = wrong_answers(IDEAS, at)
    steps, story, keep = _steps(at, value), "A depth gauge stands in the plug hole. ", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_DEG)
        story, keep = f"{story}{said.sentence} ", said.keep
        steps += (said.step,)
    state = PistonCurve(
        crank.stroke_mm,
        crank.rod_mm,
        value,
        asked="angle",
        note=f"Depth {plain(at.drop_mm)} mm below TDC.",
    )
    return Question(
        prompt=(
            f"Stroke {plain(crank.stroke_mm)} mm, rod {plain(crank.rod_mm)} mm between centres, "
            f"piston pin on the bore axis. {story}From TDC you turn the crankshaft in its running "
            f"direction until the piston has gone down {plain(at.drop_mm)} mm. How many degrees "
            f"after TDC does the crankshaft stand? {answer_in('crank degrees', 0)}"
        ),
        givens={
            "stroke_mm": Given(crank.stroke_mm, "mm"),
            "rod_mm": Given(crank.rod_mm, "mm"),
            "drop_mm": Given(at.drop_mm, "mm"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong,
        keep=keep,
        right_because="The triangle of throw, rod and pin height gives the angle.",
        reference="slider-crank geometry, exact",
        **pictured(piston_curve, state),
    )


def _steps(at: At, value: float) -> tuple[Step, ...]:
    throw, rod = at.crank.throw_mm, at.crank.rod_mm
    height = throw + rod - at.drop_mm
    cosine = (throw**2 + height**2 - rod**2) / (2 * throw * height)
    r, rod_text, high = plain(throw), plain(rod), plain(height)
    return (
        Step("Throw, rod and the pin's height make a triangle whose three sides are known."),
        Step(f"Throw r = {plain(at.crank.stroke_mm)} ÷ 2 = {r} mm.", throw, "mm"),
        Step(
            f"The piston pin stands h = {r} + {rod_text} − {plain(at.drop_mm)} = {high} mm above "
            "the crank centre.",
            height,
            "mm",
        ),
        Step(
            f"cos θ = (r² + h² − L²) ÷ (2·r·h) = ({r}² + {high}² − {rod_text}²) ÷ "
            f"(2 × {r} × {high}) = {cosine:.3f}.".replace("-", "−"),
            cosine,
        ),
        Step(f"θ = {degrees(round(value))}.", value, "°"),
    )
