"""Family `firing-interval`: crank degrees from one firing to the next."""

from __future__ import annotations

from quizsvc.figures import firing_row
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.engine import engine_of, stock_engines
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import firing_interval_deg

IDEAS: tuple[Idea[int], ...] = (
    Idea("cycle-in-one-turn", lambda n: 360 / n, "That shares out one turn; the cycle is two."),
    Idea("gaps-one-fewer", lambda n: 720 / (n - 1), "That leaves out the gap back to the first."),
    Idea("gaps-one-more", lambda n: 720 / (n + 1), "That counts cylinder 1 at both ends."),
    Idea("fires-every-stroke", lambda _: 180.0, "180° is one stroke, whatever the engine."),
    Idea("half-the-cylinders-fire", lambda n: 1440 / n, "That lets half of the cylinders fire."),
)
ASKED = Asked("interval_crank_deg", "°", 0)
_TEN = (1, 6, 5, 10, 2, 7, 3, 8, 4, 9)  # a common order of ten, common practice, no source


@family(
    "firing-interval",
    version=1,
    topic="cycle",
    title="Firing interval",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("cylinders",),
    asks="interval_crank_deg",
    key_follows="The 720° of a four-stroke cycle, shared evenly among the cylinders.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    order, engine = _drawn(sheet, draw, level)
    count = len(order)
    interval = firing_interval_deg(count)
    wrong = wrong_answers(IDEAS, count)
    steps = [
        Step("In two turns of the crankshaft every cylinder fires once.", 720.0, "°"),
        Step(f"Shared evenly: 720° ÷ {count} = {degrees(interval)}.", interval, "°"),
    ]
    keep = ""
    prompt = (
        f"{engine} with {count} cylinders, fires evenly. How many crank degrees lie between one "
        "firing and the next?"
    )
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, interval, ASKED)
        prompt = (
            f"You look for a misfire on the scope of a four-stroke engine with {count} cylinders "
            f"that fires evenly. {said.sentence} How many crank degrees should lie between one "
            "firing and the next?"
        )
        keep = said.keep
        steps.append(said.step)
    state = firing_row.FiringRow(
        order,
        question="interval",
        intervals_deg=(None,) * count,
        answer_interval_deg=interval,
    )
    return Question(
        prompt=f"{prompt} {answer_in('crank degrees', 0)}",
        givens={"cylinders": Given(count)},
        asked=ASKED,
        steps=tuple(steps),
        value=interval,
        wrong=wrong,
        keep=keep,
        right_because=f"Two turns, 720°, shared among {count}.",
        reference="engine texts: interval = 720° / cylinders",
        **pictured(firing_row, state),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> tuple[tuple[int, ...], str]:
    """Return the firing order of the picture and how to name the engine."""
    if level is not Level.RECALL:
        orders = [engine.order for engine in stock_engines()] + [_TEN]
        return draw.choice(orders), "Another engine, a four-stroke"
    engine = engine_of(sheet)
    if not engine.even or 720 % len(engine.order):
        raise Redraw
    return engine.order, f"The engine of this sheet, {engine.named}"
