"""Family `bench-safe-position`: turn the crankshaft to where no piston is near TDC."""

from __future__ import annotations

from functools import lru_cache, partial

from quizsvc.figures import cylinder_phases
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, engine_of
from quizsvc.items.family import family
from quizsvc.items.model import Asked, BenchStart, BenchTask, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees, listed
from quizsvc.items.safe_ideas import not_safe, spacing_deg
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import layout_of, slider_of
from quizsvc.timing.crank import safe_positions

ASKED = Asked("crank_deg", "°", 0)
TOLERANCE_DEG = 3.0

IDEAS: tuple[Idea[Engine], ...] = (
    Idea("tdc-taken-as-safe", lambda _: 0.0, "At TDC a piston is as near to the valves as ever."),
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
        "quarter-of-spacing",
        lambda engine: not_safe(engine, engine.safe_deg[0] / 2),
        "That halves once more, as if for the camshaft.",
    ),
)


@family(
    "bench-safe-position",
    version=1,
    topic="piston",
    title="Turn to the safe position",
    levels=(Level.APPLY,),
    kinds=(Kind.BENCH,),
    gives=("firing_order", "intervals"),
    asks="crank_deg",
    key_follows="Halfway between two neighbouring TDCs, where the shallowest piston is deepest.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.TURNING} {cautions.PISTONS_ONLY}",
)
def ask(sheet: EngineSheet, draw: Draw, _level: Level, _kind: Kind) -> Question:
    engine, safe = engine_of(sheet), _safe_deg(sheet)
    start = float(5 * draw.integer(0, 143))
    if min(abs((start - deg + 360) % 720 - 360) for deg in safe) < 4 * TOLERANCE_DEG:
        raise Redraw
    picture = cylinders_at(sheet, engine, start)
    return Question(
        prompt=(
            f"{engine.begins} On the bench the crankshaft stands {degrees(start)} after firing TDC "
            "of cylinder 1. The camshafts are to be turned by themselves. Turn the crankshaft to a "
            "place where the shallowest piston is as deep as it can be. Counted in crank degrees, "
            f"a place within {degrees(TOLERANCE_DEG)} is near enough; answers are read to the "
            "nearest whole number."
        ),
        givens=engine.givens(),
        asked=ASKED,
        steps=(
            Step("A piston is safest when it is furthest from TDC; the shallowest one decides."),
            Step(f"TDCs of a turn: {listed(list(map(degrees, engine.tdcs)))}.", engine.tdcs, "°"),
            Step(
                "Halfway between two of them: "
                f"{listed([degrees(round(deg)) for deg in safe], 'or')}.",
                safe,
                "°",
            ),
        ),
        value=safe,
        tolerance=TOLERANCE_DEG,
        wrong=wrong_answers(IDEAS, engine),
        right_because="Halfway between two TDCs no piston can be nearer to its TDC.",
        bench=BenchStart(BenchTask.TURN, start),
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(
            cylinder_phases.draw, cylinders_at(sheet, engine, safe[0]).state, solution=True
        ),
        figure_alt=picture.alt,
        caution=cautions.interference_of(sheet),
        reference="common practice, no source",
    )


@lru_cache(128)
def _safe_deg(sheet: EngineSheet) -> tuple[float, ...]:
    """Return every safe angle of both turns, with the sheet's own pin offset."""
    once = [at.atdc_deg for at in safe_positions(layout_of(sheet), slider_of(sheet))]
    return tuple(once + [deg + 360 for deg in once])
