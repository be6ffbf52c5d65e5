"""Family `cylinders-on-stroke`: all cylinders that are on a stroke at a crank angle."""

from __future__ import annotations

from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.cylinder_ideas import cylinder_text
from quizsvc.items.engine import an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Redraw, Wrong
from quizsvc.items.phrases import degrees, listed
from quizsvc.items.stroke_ideas import STROKE_IDEAS, At, all_clear
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import STROKES, Stroke


@family(
    "cylinders-on-stroke",
    version=1,
    topic="cycle",
    title="Cylinders on a stroke",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.SEVERAL_CHOICES,),
    gives=("firing_order", "intervals", "crank_deg", "stroke"),
    asks="cylinders",
    key_follows="Each cylinder's own angle, in steps of 180°: power, exhaust, intake, compression.",
    misconceptions=tuple(idea.misconception for idea in STROKE_IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    crank_deg = float(5 * draw.integer(0, 143))
    if not all_clear(engine, crank_deg):
        raise Redraw
    stroke = draw.choice(STROKES)
    places = [At(engine, cylinder, crank_deg) for cylinder in sorted(engine.order)]
    right = tuple(at for at in places if at.stroke is stroke)
    if not right:
        raise Redraw
    picture = cylinders_at(sheet, engine, crank_deg)
    return Question(
        prompt=(
            f"{engine.begins} The crankshaft stands {degrees(crank_deg)} after firing TDC of "
            f"cylinder 1, turned in its running direction. {_questions(level, stroke)} Choose all "
            "that apply."
        ),
        givens={
            **engine.givens(),
            "crank_deg": Given(crank_deg, "°"),
            "stroke": Given(str(stroke)),
        },
        asked=Asked("cylinders", ""),
        steps=(
            Step("Take each cylinder's firing angle off the crank angle; below 0° add 720°."),
            *(Step(_worked(at), at.own_deg, "°") for at in places),
            Step(f"On {stroke}: {listed([at.cylinder for at in right])}."),
        ),
        right=tuple((at.cylinder, cylinder_text(at.cylinder)) for at in right),
        right_because=f"Its own angle lies within {_span(stroke)}, which is {stroke}.",
        wrong=tuple(_wrong(at, stroke, draw) for at in places if at.stroke is not stroke),
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(
            cylinder_phases.draw,
            cylinders_at(sheet, engine, crank_deg, shown=True).state,
            solution=True,
        ),
        figure_alt=picture.alt,
        reference="engine texts: power, exhaust, intake, compression, 180° each",
    )


def _questions(level: Level, stroke: Stroke) -> str:
    if level is Level.APPLY:
        return f"Which cylinders are on the {stroke} stroke?"
    return {
        Stroke.POWER: "Which cylinders would push the crankshaft here if the engine ran, being on "
        "power?",
        Stroke.EXHAUST: "Which cylinders are pushing gas out, being on exhaust?",
        Stroke.INTAKE: "A smoke test through the throttle fills the cylinders that are drawing "
        "in. Which are on intake?",
        Stroke.COMPRESSION: "Which cylinders resist as you turn on, being on compression?",
    }[stroke]


def _span(stroke: Stroke) -> str:
    begins = 180 * STROKES.index(stroke)
    return f"{begins}–{begins + 180}°"


def _worked(at: At) -> str:
    return (
        f"Cylinder {at.cylinder}: {degrees(at.crank_deg)} − {degrees(at.firing_deg)} → "
        f"{degrees(at.own_deg)}: {at.stroke}."
    )


def _wrong(at: At, stroke: Stroke, draw: Draw) -> Wrong:
    """Say which idea would put this cylinder on the stroke asked about."""
    ideas = [idea for idea in STROKE_IDEAS if idea.answer(at) == str(stroke)]
    idea = draw.choice(ideas)
    because = f"It is on {at.stroke}. {idea.because}"
    return Wrong(idea.misconception, at.cylinder, because, cylinder_text(at.cylinder))
