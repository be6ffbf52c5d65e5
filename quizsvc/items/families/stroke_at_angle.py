"""Family `stroke-at-angle`: which stroke a cylinder is on at a crank angle."""

from __future__ import annotations

from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.stroke_ideas import STROKE_IDEAS, At
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import Stroke

CLEAR_DEG = 15  # an angle this near a dead centre would ask about the edge, not the stroke


@family(
    "stroke-at-angle",
    version=1,
    topic="cycle",
    title="Stroke at an angle",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE,),
    gives=("firing_order", "intervals", "cylinder", "crank_deg"),
    asks="stroke",
    key_follows="Crank angle less the cylinder's firing angle, in steps of 180°: power, exhaust, "
    "intake, compression.",
    misconceptions=tuple(idea.misconception for idea in STROKE_IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    at = _drawn(engine, draw, level)
    stroke = at.stroke
    picture = cylinders_at(sheet, engine, at.crank_deg, asked=at.cylinder)
    crank = degrees(at.crank_deg)
    where = f"The crankshaft stands {crank} after firing TDC of cylinder 1"
    prompt = (
        f"{engine.begins} {where}, turned in its running direction. Which stroke is cylinder "
        f"{at.cylinder} on?"
    )
    if level is Level.DIAGNOSE:
        prompt = (
            f"{engine.begins} {where}, and air is to be let into cylinder {at.cylinder} for a leak "
            f"test. Before you hold the crankshaft: which stroke does cylinder {at.cylinder} "
            "stand on?"
        )
    return Question(
        prompt=prompt,
        givens={
            **engine.givens(),
            "cylinder": Given(at.cylinder),
            "crank_deg": Given(at.crank_deg, "°"),
        },
        asked=Asked("stroke", ""),
        steps=_steps(at, stroke),
        right=((str(stroke), str(stroke)),),
        right_because=f"{degrees(at.own_deg)} after its firing TDC it is on {stroke}.",
        wrong=wrong_answers(STROKE_IDEAS, at),
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(cylinder_phases.draw, picture.state, solution=True),
        figure_alt=picture.alt,
        caution=_LEAK_TEST if level is Level.DIAGNOSE else "",
        reference="engine texts: power, exhaust, intake, compression, 180° each",
    )


_LEAK_TEST = (
    "Air in a cylinder can spin the crankshaft: hold it safely, keep clear of it, and follow the "
    "maker's service information."
)


def _drawn(engine: Engine, draw: Draw, level: Level) -> At:
    cylinder = 1 if level is Level.RECALL else draw.choice(engine.order)
    at = At(engine, cylinder, float(5 * draw.integer(0, 143)))
    if not at.clear_by(CLEAR_DEG):
        raise Redraw
    return at


def _steps(at: At, stroke: Stroke) -> tuple[Step, ...]:
    firing, own = at.firing_deg, at.own_deg
    taken = f"{degrees(at.crank_deg)} − {degrees(firing)}"
    if at.crank_deg < firing:
        taken = f"{degrees(at.crank_deg)} + 720° − {degrees(firing)}"
    number = int(own // 180)
    return (
        Step(
            f"Along the firing order, cylinder {at.cylinder} fires {degrees(firing)} after "
            "cylinder 1.",
            firing,
            "°",
        ),
        Step(f"Since its own firing TDC: {taken} = {degrees(own)}.", own, "°"),
        Step(
            "From firing TDC: power 0–180°, exhaust 180–360°, intake 360–540°, compression "
            f"540–720°. {degrees(own)} lies in {180 * number}–{180 * number + 180}°: {stroke}."
        ),
    )
