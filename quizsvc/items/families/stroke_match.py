"""Family `stroke-match`: every cylinder beside the stroke it is on."""

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
from quizsvc.items.phrases import degrees
from quizsvc.items.stroke_ideas import STROKE_IDEAS, At, all_clear
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import STROKES

# These keep to the order of strokes for every cylinder and so make a whole wrong match.
_IDEAS = tuple(idea for idea in STROKE_IDEAS if idea.misconception != "intake-before-exhaust")


@family(
    "stroke-match",
    version=1,
    topic="cycle",
    title="Match cylinders and strokes",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.MATCH,),
    gives=("firing_order", "intervals", "crank_deg"),
    asks="strokes",
    key_follows="Each cylinder's own angle, in steps of 180°: power, exhaust, intake, compression.",
    misconceptions=tuple(idea.misconception for idea in _IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    crank_deg = _crank_deg(draw, level)
    if not all_clear(engine, crank_deg):
        raise Redraw
    places = [At(engine, cylinder, crank_deg) for cylinder in sorted(engine.order)]
    picture = cylinders_at(sheet, engine, crank_deg)
    return Question(
        prompt=(
            f"{engine.begins} {_where(crank_deg, level, words_of_sheet(sheet).loop)} Give each "
            "cylinder the stroke it is on. A stroke may serve several cylinders or none."
        ),
        givens={**engine.givens(), "crank_deg": Given(crank_deg, "°")},
        asked=Asked("strokes", ""),
        steps=(
            Step("Take each cylinder's firing angle off the crank angle; below 0° add 720°."),
            Step("Power 0–180°, exhaust 180–360°, intake 360–540°, compression 540–720°."),
            *(
                Step(
                    f"Cylinder {at.cylinder}: {degrees(at.own_deg)}, {at.stroke}.", at.own_deg, "°"
                )
                for at in places
            ),
        ),
        pairs=tuple((cylinder_text(at.cylinder), str(at.stroke)) for at in places),
        spare_right=tuple(map(str, STROKES)),
        wrong=tuple(
            Wrong(idea.misconception, tuple(str(idea.answer(at)) for at in places), idea.because)
            for idea in _IDEAS
        ),
        right_because="Each cylinder's own angle gives its stroke.",
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(
            cylinder_phases.draw,
            cylinders_at(sheet, engine, crank_deg, shown=True).state,
            solution=True,
        ),
        figure_alt=picture.alt,
        reference="engine texts: power, exhaust, intake, compression, 180° each",
    )


def _crank_deg(draw: Draw, level: Level) -> float:
    """The first half turn is the easier one: cylinder 1 is on power."""
    last = 35 if level is Level.APPLY else 143
    return float(5 * draw.integer(1, last))


def _where(crank_deg: float, level: Level, loop: str) -> str:
    if level is Level.APPLY:
        return (
            f"The crankshaft stands {degrees(crank_deg)} after firing TDC of cylinder 1, turned in "
            "its running direction."
        )
    turns, rest = divmod(crank_deg, 360)
    further = degrees(rest)
    if turns:
        further = f"one whole turn and {further}, in all {degrees(crank_deg)},"
    return (
        f"The engine stopped with a broken {loop}, which is to be fitted as it was. From firing "
        f"TDC of cylinder 1 the crankshaft had turned {further} further on in its running "
        "direction."
    )
