"""Family `marks-realign`: turns of the crank until a marked link meets the crank mark again."""

from __future__ import annotations

import math
from functools import partial

from quizsvc.figures import drive_state, drive_view
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import clockwise, pair_view
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import claim
from quizsvc.items.realign_ideas import Loop, a_loop, whole_or_none
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import realign_revolutions

ASKED = Asked("crank_revolutions", "turns", 0)

IDEAS: tuple[Idea[Loop], ...] = (
    Idea(
        "marked-links-every-two-turns",
        lambda _: 2.0,
        "The sprocket marks come back then, the marked link does not.",
    ),
    Idea(
        "as-many-turns-as-links",
        lambda loop: float(loop.links),
        "That multiplies links and teeth; shared factors make it fewer turns.",
    ),
    Idea(
        "links-over-teeth",
        lambda loop: float(round(loop.links / loop.teeth)),
        "That is about one round of the chain, and it does not come out whole.",
    ),
    Idea(
        "chain-rounds-for-turns",
        lambda loop: float(loop.pitches // loop.links),
        "That counts rounds of the chain.",
    ),
    Idea(
        "pitches-for-turns",
        lambda loop: float(loop.pitches),
        "That counts pitches; divide by the teeth of the crank sprocket.",
    ),
    Idea(
        "cam-turns-for-crank-turns",
        lambda loop: whole_or_none(loop.pitches / loop.teeth / 2),
        "Those are turns of the camshaft.",
    ),
    Idea(
        "halved-for-doubled",
        lambda loop: float(2 * loop.pitches // loop.teeth),
        "That doubles for the camshaft; crank turns were asked.",
    ),
)


@family(
    "marks-realign",
    version=1,
    topic="marks",
    title="When a marked link comes back",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("chain_links", "crank_teeth"),
    asks="crank_revolutions",
    key_follows="Least common multiple of links and teeth, divided by the teeth.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.CHECK_TURN} {cautions.FIRST}",
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    loop = a_loop(sheet, draw, level)
    value = float(realign_revolutions(loop.links, loop.teeth))
    if value < 3:
        raise Redraw
    wrong = wrong_answers(IDEAS, loop)
    steps, story, keep = _steps(loop, value), "", ""
    if level is Level.DIAGNOSE:
        story = (
            "After two turns by hand the marked link is no longer at the crank mark, and the "
            "fitter fears the chain has jumped. "
        )
        said = claim(draw, wrong, value, ASKED, 0.5)
        story, keep = f"{story}{said.sentence} ", said.keep
        steps += (said.step,)
    state = pair_view(loop.teeth, loop.links, runs_clockwise=clockwise(sheet), marked_pins=(0,))
    return Question(
        prompt=(
            f"A chain of {loop.links} links runs on a crank sprocket of {loop.teeth} teeth. A "
            f"marked link stands at the crank mark. {story}After how many turns of the crankshaft "
            "does the same link stand at the crank mark again, for the first time? Answer in turns "
            "of the crankshaft, to the nearest whole number."
        ),
        givens={"chain_links": Given(loop.links), "crank_teeth": Given(loop.teeth)},
        asked=ASKED,
        steps=steps,
        value=value,
        wrong=wrong,
        keep=keep,
        right_because="Only a whole number of both chain rounds and crank turns brings them back.",
        figure=partial(drive_view.draw, state),
        solution_figure=partial(drive_view.draw, state, solution=True),
        figure_alt=drive_state.describe(state),
        reference="least common multiple; 96 links on 15 teeth: 32 turns",
    )


def _steps(loop: Loop, value: float) -> tuple[Step, ...]:
    shared = math.gcd(loop.links, loop.teeth)
    return (
        Step(
            "The link is back only when both have gone round whole times: the pitches that passed "
            f"are a multiple of {loop.links} and of {loop.teeth}."
        ),
        Step(f"Largest factor shared by {loop.links} and {loop.teeth}: {shared}.", shared),
        Step(
            f"Least common multiple: {loop.links} × {loop.teeth} ÷ {shared} = {loop.pitches} "
            "pitches.",
            loop.pitches,
        ),
        Step(f"{loop.pitches} ÷ {loop.teeth} teeth = {value:.0f} turns.", value, "turns"),
        Step(
            "So a marked link away from its mark after turning proves nothing: count pins instead."
        ),
    )
