"""Family `safe-position`: where the crankshaft keeps every piston furthest from TDC."""

from __future__ import annotations

from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees, listed
from quizsvc.items.safe_ideas import not_safe, spacing_deg
from quizsvc.sheets.schema import EngineSheet

ASKED = Asked("atdc_deg", "°", 0)
TOLERANCE_DEG = 1.0

IDEAS: tuple[Idea[Engine], ...] = (
    Idea(
        "tdc-taken-as-safe",
        lambda _: 0.0,
        "At TDC of cylinder 1 its piston is as near to the valves as it comes.",
    ),
    Idea(
        "ninety-is-safe",
        lambda engine: not_safe(engine, 90.0),
        "90° is not halfway between two TDCs of this engine.",
    ),
    Idea(
        "one-at-the-bottom",
        lambda engine: not_safe(engine, 180.0),
        "Piston 1 is at the bottom there, but another is not.",
    ),
    Idea(
        "full-tdc-spacing",
        lambda engine: not_safe(engine, spacing_deg(engine)),
        "There the next piston is at TDC.",
    ),
    Idea(
        "firing-interval-for-tdc-spacing",
        lambda engine: not_safe(engine, engine.intervals_deg[0] / 2) if engine.even else None,
        "That halves the firing interval; TDCs lie closer together than firings.",
    ),
    Idea(
        "quarter-of-spacing",
        lambda engine: not_safe(engine, engine.safe_deg[0] / 2),
        "That halves once more, as if for the camshaft.",
    ),
)


@family(
    "safe-position",
    version=1,
    topic="piston",
    title="Safe position of the crankshaft",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("layout", "firing_order"),
    asks="atdc_deg",
    key_follows="Halfway between two neighbouring TDCs, where the shallowest piston is deepest.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.TURNING} {cautions.PISTONS_ONLY}",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    value = engine.safe_deg[0]
    if abs(value - round(value)) > 1e-6:
        raise Redraw  # asked in whole degrees
    wrong = wrong_answers(IDEAS, engine)
    given: dict[str, Given] = {"layout": Given(engine.title), **engine.givens()}
    stated = ""
    if level is Level.RECALL or not engine.even:
        given["tdc_deg"] = Given(engine.tdcs, "°")
        stated = (
            f" In every turn a piston is at TDC at {listed(list(map(degrees, engine.tdcs)))}, "
            "counted from TDC of cylinder 1."
        )
    steps, story, keep = _steps(engine, value), "The camshafts are to be turned by themselves. ", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_DEG)
        story = f"{story}{said.sentence} Check it. "
        keep = said.keep
        steps += (said.step,)
    picture = cylinders_at(sheet, engine, 0.0)
    return Question(
        prompt=(
            f"{engine.begins}{stated} {story}At which crank angle is the shallowest piston as deep "
            "as it can be? Give the smallest such angle after TDC of cylinder 1, in the running "
            f"direction, piston pins on the bore axis. {answer_in('crank degrees', 0)}"
        ),
        givens=given,
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong,
        keep=keep,
        right_because="Halfway between two TDCs no piston can be nearer to its TDC.",
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(
            cylinder_phases.draw, cylinders_at(sheet, engine, value).state, solution=True
        ),
        figure_alt=picture.alt,
        caution=cautions.interference_of(sheet),
        reference="common practice, no source (60° ATDC for an even-firing six)",
    )


def _steps(engine: Engine, value: float) -> tuple[Step, ...]:
    tdcs, spacing = engine.tdcs, spacing_deg(engine)
    after = value - spacing / 2
    return (
        Step("A piston is safest when it is furthest from TDC, and the shallowest one decides."),
        Step(
            "Firing angles less whole turns give the TDCs of a turn: "
            f"{listed(list(map(degrees, tdcs)))}.",
            tdcs,
            "°",
        ),
        Step(
            f"From {degrees(after)} to the next TDC are {degrees(spacing)}; halfway is "
            f"{degrees(after)} + {degrees(spacing)} ÷ 2 = {degrees(value)}.",
            value,
            "°",
        ),
        Step("There one piston sinks and the next rises, both as deep as the shallowest can be."),
    )
