"""Family `firing-sequence`: cylinders put into the order in which they fire from here on."""

from __future__ import annotations

from functools import partial

from quizsvc.figures import cylinder_phases, firing_row
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.cylinder_ideas import cylinder_text
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Figure, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.sheets.schema import EngineSheet

Sequence = tuple[int, ...]  # the right one


def _texts(cylinders: Sequence) -> tuple[str, ...]:
    return tuple(map(cylinder_text, cylinders))


def _from(first: int, cylinders: Sequence) -> Sequence:
    """Turn a round of cylinders so that it begins with one of them."""
    at = cylinders.index(first)
    return cylinders[at:] + cylinders[:at]


IDEAS: tuple[Idea[Sequence], ...] = (
    Idea(
        "row-for-order",
        lambda right: _texts(_from(right[0], tuple(sorted(right)))),
        "That goes by cylinder numbers.",
    ),
    Idea(
        "order-read-backwards",
        lambda right: _texts((right[0], *right[:0:-1])),
        "That reads the firing order backwards.",
    ),
    Idea(
        "order-not-wrapped",
        lambda right: _texts(_from(1, right)),
        "That begins with cylinder 1 wherever the crankshaft stands.",
    ),
    Idea(
        "skips-one-in-order",
        lambda right: _texts((*right[1:], right[0])),
        "That begins one firing too late.",
    ),
)


@family(
    "firing-sequence",
    version=1,
    topic="cycle",
    title="Put cylinders in firing order",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.ORDER,),
    gives=("firing_order", "cylinder", "crank_deg"),
    asks="sequence",
    key_follows="The firing order, read on from where the engine stands and round to the front.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    if level is Level.RECALL:
        return _from_a_cylinder(engine, draw)
    return _from_an_angle(sheet, engine, draw)


def _from_a_cylinder(engine: Engine, draw: Draw) -> Question:
    first = draw.choice(engine.order)
    right = _from(first, engine.order)
    state = firing_row.FiringRow(engine.order, given=first)
    return _question(
        right,
        prompt=(
            f"{engine.begins} Cylinder {first} has its turn to fire. Put all cylinders in the "
            f"order in which they fire from there, cylinder {first} first."
        ),
        givens={**engine.givens(), "cylinder": Given(first)},
        first_step=Step(f"Find cylinder {first} in {engine.order_text} and begin there."),
        figure=partial(firing_row.draw, state),
        solution_figure=partial(firing_row.draw, state, solution=True),
        figure_alt=firing_row.describe(state),
    )


def _from_an_angle(sheet: EngineSheet, engine: Engine, draw: Draw) -> Question:
    crank_deg = float(5 * draw.integer(1, 143))
    ahead = {c: (deg - crank_deg) % 720 for c, deg in engine.firing_deg.items()}
    first = min(ahead, key=lambda cylinder: ahead[cylinder])
    if ahead[first] < 5 or max(ahead.values()) > 715:
        raise Redraw
    picture = cylinders_at(sheet, engine, crank_deg)
    return _question(
        _from(first, engine.order),
        prompt=(
            f"{engine.begins} The crankshaft stands {degrees(crank_deg)} after firing TDC of "
            "cylinder 1 and is turned on in its running direction. Put the cylinders in the order "
            "in which they come to their firing TDC, the first to come first."
        ),
        givens={**engine.givens(), "crank_deg": Given(crank_deg, "°")},
        first_step=Step(
            f"The next firing angle after {degrees(crank_deg)} is that of cylinder {first}, "
            f"{degrees(engine.firing_deg[first])}: {degrees(ahead[first])} ahead.",
            ahead[first],
            "°",
        ),
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(cylinder_phases.draw, picture.state, solution=True),
        figure_alt=picture.alt,
    )


def _question(
    right: Sequence,
    *,
    prompt: str,
    givens: dict[str, Given],
    first_step: Step,
    figure: Figure,
    solution_figure: Figure,
    figure_alt: str,
) -> Question:
    return Question(
        prompt=prompt,
        givens=givens,
        asked=Asked("sequence", ""),
        steps=(
            first_step,
            Step("Read on to the right; after the last cylinder go on at the front."),
            Step(f"In all: {'-'.join(map(str, right))}.", right),
        ),
        sequence=_texts(right),
        wrong=wrong_answers(IDEAS, right),
        right_because="The firing order goes round without an end.",
        figure=figure,
        solution_figure=solution_figure,
        figure_alt=figure_alt,
        reference="engine texts",
    )
