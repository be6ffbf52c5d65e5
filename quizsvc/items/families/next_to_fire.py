"""Family `next-to-fire`: which cylinder fires after a given one."""

from __future__ import annotations

from quizsvc.figures import firing_row
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_ideas import Of, cylinder_text, neighbour
from quizsvc.items.engine import an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import next_to_fire

IDEAS: tuple[Idea[Of], ...] = (
    Idea("nearest-in-row", neighbour, "The next in the row is not the next in the order."),
    Idea("previous-in-order", lambda of: of.along(-1), "That one has just fired."),
    Idea(
        "companion-for-next",
        lambda of: of.engine.companions[of.cylinder],
        "Its piston comes up too, but it fires a whole turn later.",
    ),
    Idea("skips-one-in-order", lambda of: of.along(2), "That skips one in the order."),
    Idea("across-the-vee", lambda of: of.facing, "Standing across the vee does not make it next."),
    Idea(
        "fires-every-turn",
        lambda of: of.cylinder,
        "It fires again only after two turns, when all the others have fired.",
    ),
)


@family(
    "next-to-fire",
    version=1,
    topic="cycle",
    title="Next to fire",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE,),
    gives=("firing_order", "cylinder"),
    asks="cylinder",
    key_follows="One place on in the firing order; after the last, the first.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    cylinder = draw.choice(engine.order)
    following = next_to_fire(engine.order, cylinder)
    state = firing_row.FiringRow(engine.order, given=cylinder, question="next", answer=following)
    last = engine.order[-1] == cylinder
    how = "it stands last, so begin at the front again" if last else "go one place on"
    return Question(
        prompt=f"{engine.begins} {_questions(level, cylinder)}",
        givens={**engine.givens(), "cylinder": Given(cylinder)},
        asked=Asked("cylinder", ""),
        steps=(
            Step("Read the firing order from left to right; after the last comes the first."),
            Step(f"Find cylinder {cylinder} in {engine.order_text}: {how}."),
            Step(f"Cylinder {following} fires next.", following),
        ),
        right=((following, cylinder_text(following)),),
        right_because=f"In {engine.order_text}, {following} follows {cylinder}.",
        wrong=wrong_answers(IDEAS, Of(engine, cylinder), cylinder_text),
        reference="engine texts",
        **pictured(firing_row, state),
    )


def _questions(level: Level, cylinder: int) -> str:
    if level is Level.RECALL:
        return f"Which cylinder fires after cylinder {cylinder}?"
    if level is Level.APPLY:
        return (
            f"You turn the crankshaft by hand in its running direction. Cylinder {cylinder} is at "
            "firing TDC. Which cylinder comes to firing TDC next?"
        )
    return (
        f"A scope is triggered by the spark of cylinder {cylinder}. The first push on the "
        "crankshaft after that one is missing from the trace. Which cylinder does not work?"
    )
