"""Family `marks-realign-cam`: turns until crank mark, cam mark and marked links all meet again."""

from __future__ import annotations

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
from quizsvc.items.realign_ideas import Loop, a_loop
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import realign_revolutions, realign_with_cam_revolutions

ASKED = Asked("crank_revolutions", "turns", 0)


def _crank_mark_only(loop: Loop) -> float:
    return float(realign_revolutions(loop.links, loop.teeth))


def _all(loop: Loop) -> float:
    return float(realign_with_cam_revolutions(loop.links, loop.teeth))


IDEAS: tuple[Idea[Loop], ...] = (
    Idea(
        "marked-links-every-two-turns",
        lambda _: 2.0,
        "The sprocket marks come back then, the marked links do not.",
    ),
    Idea(
        "crank-mark-only",
        _crank_mark_only,
        "There the link is at the crank mark, but the cam may stand half a turn away.",
    ),
    Idea(
        "cam-turns-for-crank-turns",
        lambda loop: _all(loop) / 2,
        "Those are turns of the camshaft.",
    ),
    Idea(
        "pitches-for-turns",
        lambda loop: _all(loop) * loop.teeth,
        "That counts pitches; divide by the teeth of the crank sprocket.",
    ),
    Idea(
        "as-many-turns-as-links",
        lambda loop: 2.0 * loop.links,
        "That multiplies links and teeth; shared factors make it fewer turns.",
    ),
    Idea(
        "chain-rounds-for-turns",
        lambda loop: _all(loop) * loop.teeth / loop.links,
        "That counts rounds of the chain.",
    ),
)


@family(
    "marks-realign-cam",
    version=1,
    topic="marks",
    title="When all marks come back",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("chain_links", "crank_teeth"),
    asks="crank_revolutions",
    key_follows="Least common multiple of links and cam teeth (twice the crank's), divided by the "
    "crank's teeth.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.CHECK_TURN} {cautions.FIRST}",
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    loop = a_loop(sheet, draw, level)
    value = _all(loop)
    if value <= 2:
        raise Redraw
    wrong = wrong_answers(IDEAS, loop)
    steps, story, keep = _steps(loop, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, 0.5)
        story, keep = (
            f"A fitter turns on to see the marked links again. {said.sentence} ",
            said.keep,
        )
        steps += (said.step,)
    state = pair_view(loop.teeth, loop.links, runs_clockwise=clockwise(sheet), marked_pins=(0,))
    return Question(
        prompt=(
            f"A chain of {loop.links} links runs on a crank sprocket of {loop.teeth} teeth and a "
            f"cam sprocket of {2 * loop.teeth} teeth. Crank mark, cam mark and the marked links "
            f"all line up. {story}After how many turns of the crankshaft do they all line up "
            "again, for the first time? Answer in turns of the crankshaft, to the nearest whole "
            "number."
        ),
        givens={
            "chain_links": Given(loop.links),
            "crank_teeth": Given(loop.teeth),
            "cam_teeth": Given(2 * loop.teeth),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        wrong=wrong,
        keep=keep,
        right_because="Chain and cam sprocket must both have gone round whole times.",
        figure=partial(drive_view.draw, state),
        solution_figure=partial(drive_view.draw, state, solution=True),
        figure_alt=drive_state.describe(state),
        reference="least common multiple; 72 links on 18 teeth: 4 turns",
    )


def _steps(loop: Loop, value: float) -> tuple[Step, ...]:
    pitches = int(value) * loop.teeth
    cam = 2 * loop.teeth
    return (
        Step(
            "The cam mark comes back every whole turn of the cam sprocket, the links every whole "
            "round of the chain."
        ),
        Step(f"Least common multiple of {loop.links} and {cam}: {pitches} pitches.", pitches),
        Step(
            f"{pitches} ÷ {loop.teeth} teeth of the crank sprocket = {value:.0f} turns.",
            value,
            "turns",
        ),
    )
