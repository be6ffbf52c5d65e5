"""Family `safe-margin`: how deep the shallowest piston stands at a crank angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from statistics import fmean

from quizsvc.figures import cylinder_phases
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees, listed, plain
from quizsvc.items.piston_ideas import (
    Crank,
    even_drop_mm,
    rodless_drop_mm,
    stroke_as_throw_drop_mm,
)
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import LeastDrop, least_drop

ASKED = Asked("drop_mm", "mm", 1)
TOLERANCE_MM = 0.1


@dataclass(frozen=True, slots=True)
class Standing:
    """An engine at a crank angle, with the drop of every piston and the shallowest."""

    engine: Engine
    crank: Crank
    crank_deg: float
    drops: dict[int, float]
    least: LeastDrop

    @property
    def nearest_deg(self) -> float:
        """How far the shallowest piston is from its TDC, before or after, in [0, 180]."""
        past = (self.crank_deg - self.engine.tdc_deg[self.least.cylinders[0]]) % 360
        return min(past, 360 - past)


IDEAS: tuple[Idea[Standing], ...] = (
    Idea(
        "only-cylinder-one",
        lambda at: at.drops[1],
        "That is piston 1; another one is shallower.",
    ),
    Idea(
        "deepest-for-shallowest",
        lambda at: max(at.drops.values()),
        "That is the deepest piston.",
    ),
    Idea(
        "mean-of-the-pistons",
        lambda at: fmean(at.drops.values()),
        "That is the mean of all pistons.",
    ),
    Idea(
        "piston-moves-evenly",
        lambda at: even_drop_mm(at.crank, at.nearest_deg),
        "That takes the same distance for every degree.",
    ),
    Idea(
        "rod-forgotten",
        lambda at: rodless_drop_mm(at.crank, at.nearest_deg),
        "That leaves the lean of the rod out.",
    ),
    Idea(
        "stroke-for-throw",
        lambda at: stroke_as_throw_drop_mm(at.crank, at.nearest_deg),
        "That uses the stroke as the throw.",
    ),
    Idea(
        "cam-degrees-for-piston",
        lambda at: at.crank.slider.drop_mm(at.nearest_deg / 2),
        "That halves the crank angle, as if the piston hung on the camshaft.",
    ),
)


@family(
    "safe-margin",
    version=1,
    topic="piston",
    title="Depth of the shallowest piston",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("stroke_mm", "rod_mm", "firing_order", "intervals", "crank_deg"),
    asks="drop_mm",
    key_follows="Drop of the piston that is nearest to its TDC.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.TURNING} {cautions.PISTONS_ONLY}",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    at = _drawn(sheet, an_engine(sheet, draw, level), draw, level)
    engine, value = at.engine, at.least.drop_mm
    wrong = wrong_answers(IDEAS, at)
    steps, story, keep = _steps(at), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_MM)
        loop = words_of_sheet(sheet).loop
        story = f"A camshaft is to be turned with the {loop} off. {said.sentence} "
        keep = said.keep
        steps += (said.step,)
    picture = cylinders_at(sheet, engine, at.crank_deg)
    solved = cylinders_at(sheet, engine, at.crank_deg, measured=at.least.cylinders[0])
    return Question(
        prompt=(
            f"{engine.begins} Stroke {plain(at.crank.stroke_mm)} mm, rod "
            f"{plain(at.crank.rod_mm)} mm between centres, piston pins on the bore axis. The "
            f"crankshaft stands {degrees(at.crank_deg)} after firing TDC of cylinder 1, turned in "
            f"its running direction. {story}How far below TDC is the shallowest piston? "
            f"{answer_in('mm', 1)}"
        ),
        givens={
            "stroke_mm": Given(at.crank.stroke_mm, "mm"),
            "rod_mm": Given(at.crank.rod_mm, "mm"),
            **engine.givens(),
            "crank_deg": Given(at.crank_deg, "°"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_MM,
        wrong=wrong,
        keep=keep,
        right_because="The piston nearest to its TDC is the one a valve would meet.",
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(cylinder_phases.draw, solved.state, solution=True),
        figure_alt=picture.alt,
        caution=cautions.interference_of(sheet),
        reference="slider-crank geometry, exact",
    )


def _drawn(sheet: EngineSheet, engine: Engine, draw: Draw, level: Level) -> Standing:
    crank = Crank(sheet.piston.stroke_mm, sheet.piston.rod_mm)
    turn = draw.integer(0, 71) if level is Level.APPLY else draw.integer(72, 143)
    crank_deg = float(5 * turn)
    slider = crank.slider
    drops = {c: slider.drop_mm(crank_deg - tdc) for c, tdc in engine.tdc_deg.items()}
    least = least_drop(engine.layout, slider, crank_deg)
    if least.drop_mm < 1:
        raise Redraw
    return Standing(engine, crank, crank_deg, drops, least)


def _steps(at: Standing) -> tuple[Step, ...]:
    nearest = at.nearest_deg
    shallow = at.least.cylinders
    whose = f"{'cylinder' if len(shallow) == 1 else 'cylinders'} {listed(shallow)}"
    tdcs = at.engine.tdcs
    turn = at.crank_deg % 360
    return (
        Step("Every piston is at TDC once a turn; the one nearest to TDC is the shallowest."),
        Step(
            f"TDCs of a turn: {listed(list(map(degrees, tdcs)))}. The crankshaft stands at "
            f"{degrees(turn)} of its turn.",
            turn,
            "°",
        ),
        Step(f"Nearest: {whose}, {degrees(nearest)} from TDC.", nearest, "°"),
        Step(
            f"Drop at {degrees(nearest)}: r + L − (r·cos θ + √(L² − (r·sin θ)²)) with r = "
            f"{plain(at.crank.throw_mm)} and L = {plain(at.crank.rod_mm)} mm gives "
            f"{at.least.drop_mm:.1f} mm.",
            at.least.drop_mm,
            "mm",
        ),
    )
