"""Family `companion-cylinder`: whose piston moves together with a given one, a turn apart."""

from __future__ import annotations

from quizsvc.figures import firing_row
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_ideas import Of, cylinder_text, neighbour
from quizsvc.items.engine import an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet

IDEAS: tuple[Idea[Of], ...] = (
    Idea("next-for-companion", lambda of: of.along(1), "That one fires next; its piston is late."),
    Idea("previous-in-order", lambda of: of.along(-1), "That one has just fired."),
    Idea("nearest-in-row", neighbour, "Standing side by side does not make pistons move alike."),
    Idea("across-the-vee", lambda of: of.facing, "Standing across the vee is not moving alike."),
    Idea("skips-one-in-order", lambda of: of.along(2), "That one is two firings on."),
    Idea(
        "one-piston-at-tdc",
        lambda _: "none",
        "With even firing and an even number of cylinders, pistons move in pairs.",
    ),
)


@family(
    "companion-cylinder",
    version=1,
    topic="cycle",
    title="Companion cylinder",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE,),
    gives=("firing_order", "cylinder"),
    asks="cylinder",
    key_follows="The cylinder whose firing angle differs by exactly 360°.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    cylinder = draw.choice(engine.order)
    companion = engine.companions[cylinder]
    if companion is None:
        raise Redraw
    prompt = f"{engine.begins} {_questions(level, cylinder)}"
    state = firing_row.FiringRow(
        engine.order, given=cylinder, question="companion", answer=companion
    )
    here, there = engine.firing_deg[cylinder], engine.firing_deg[companion]
    return Question(
        prompt=prompt,
        givens={**engine.givens(), "cylinder": Given(cylinder)},
        asked=Asked("cylinder", ""),
        steps=(
            Step("Pistons that move together fire one whole turn apart.", 360.0, "°"),
            Step(f"Cylinder {cylinder} fires at {degrees(here)} of the cycle.", here, "°"),
            Step(
                f"One turn away, at {degrees(there)}, fires cylinder {companion}: "
                f"{degrees(max(here, there))} − {degrees(min(here, there))} = 360°.",
                there,
                "°",
            ),
        ),
        right=((companion, cylinder_text(companion)),),
        right_because=f"Cylinders {cylinder} and {companion} fire 360° apart.",
        wrong=wrong_answers(IDEAS, Of(engine, cylinder), cylinder_text),
        caution=cautions.TURNING if level is Level.DIAGNOSE else "",
        reference="engine texts",
        **pictured(firing_row, state),
    )


def _questions(level: Level, cylinder: int) -> str:
    if level is Level.RECALL:
        return f"Which cylinder's piston comes to TDC together with that of cylinder {cylinder}?"
    if level is Level.APPLY:
        return (
            f"When cylinder {cylinder} is at firing TDC, which cylinder stands at exhaust TDC, "
            "where exhaust hands over to intake?"
        )
    return (
        f"The valve clearance of cylinder {cylinder} is to be set with both its valves shut. The "
        "cam cover of which cylinder do you watch, to see its valves change over as you reach "
        f"firing TDC of cylinder {cylinder}?"
    )
