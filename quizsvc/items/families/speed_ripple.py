"""Family `speed-ripple`: how much the chain's speed swings as each link engages."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import single_sprocket
from quizsvc.items.assemble import Question
from quizsvc.items.chain_drive import sheet_teeth
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import speed_ripple

FEWEST, MOST = 11, 28


@dataclass(frozen=True, slots=True)
class Ripple:
    """A sprocket, and at the higher level the one it is to be replaced by."""

    teeth: int
    new_teeth: int = 0

    @property
    def percent(self) -> float:
        return 100 * speed_ripple(self.teeth)

    @property
    def part_left(self) -> float:
        """Ripple of the new sprocket in percent of that of the old."""
        return 100 * speed_ripple(self.new_teeth) / speed_ripple(self.teeth)


IDEAS: tuple[Idea[Ripple], ...] = (
    Idea(
        "ripple-whole-tooth-angle",
        lambda r: 100 * (1 - math.cos(2 * math.pi / r.teeth)),
        "From the middle of a link to its end is half a tooth angle: 180°/N.",
    ),
    Idea(
        "ripple-one-over-teeth",
        lambda r: 100 / r.teeth,
        "The ripple is no part of N; it falls with the square of the teeth.",
    ),
    Idea(
        "ripple-halved",
        lambda r: r.percent / 2,
        "Asked is the whole swing, from the fastest to the slowest.",
    ),
    Idea(
        "ripple-as-sine",
        lambda r: 100 * (1 - math.cos(math.pi / (2 * r.teeth))),
        "The angle from the middle of a link to its end is 180°/N, not 90°/N.",
    ),
)
LEFT: tuple[Idea[Ripple], ...] = (
    Idea(
        "ripple-one-over-teeth",
        lambda r: 100 * r.teeth / r.new_teeth,
        "It falls with the square of the teeth, not in proportion to them.",
    ),
    Idea(
        "ripple-same-for-all",
        lambda _: 100.0,
        "More teeth make a rounder sprocket, so the ripple falls.",
    ),
    Idea(
        "ripple-grows-with-teeth",
        lambda r: 100 * r.new_teeth / r.teeth,
        "More teeth do not mean more ripple: the sprocket gets rounder.",
    ),
    Idea(
        "ripple-cubed",
        lambda r: 100 * (r.teeth / r.new_teeth) ** 3,
        "It falls with the square of the teeth, not with their cube.",
    ),
)


@family(
    "speed-ripple",
    version=1,
    topic="chain",
    title="Speed ripple of a chain",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("teeth", "new_teeth"),
    asks="percent",
    key_follows="1 − cos(180°/N), in percent.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*IDEAS, *LEFT))),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: one sprocket. Apply: what a larger one leaves of it."""
    own = [teeth for teeth in sheet_teeth(sheet) if teeth <= MOST] or [18]
    teeth = min(MOST, max(FEWEST, draw.choice(own) + draw.integer(-5, 5)))
    if level is Level.APPLY:
        return _replaced(Ripple(teeth, teeth + draw.integer(3, 8)))
    ripple = Ripple(teeth)
    return Question(
        prompt=f"A chain runs on a driving sprocket of {teeth} teeth that turns evenly. By how "
        "many percent of its greatest speed does the chain's speed fall within each pitch "
        f"(polygon effect)? {answer_in('percent', 2)}",
        givens={"teeth": Given(teeth, "teeth")},
        asked=Asked("percent", "%", 2),
        steps=_steps(ripple),
        value=round(ripple.percent, 2),
        tolerance=0.02,
        wrong=wrong_answers(IDEAS, ripple),
        right_because="A link engages half a tooth angle from its highest place.",
        **pictured(single_sprocket, _polygon(teeth)),
        reference=_REFERENCE,
    )


_REFERENCE = "machine-element texts: polygon effect, 1 − cos(180°/N)"


def _polygon(teeth: int) -> single_sprocket.SingleSprocket:
    return single_sprocket.SingleSprocket("driving", teeth, asked="ripple")


def _replaced(ripple: Ripple) -> Question:
    return Question(
        prompt=f"A driving chain sprocket of {ripple.teeth} teeth is replaced by one of "
        f"{ripple.new_teeth} teeth. How large is the chain's speed ripple (polygon effect) then, "
        f"in percent of what it was? {answer_in('percent', 0)}",
        givens={
            "teeth": Given(ripple.teeth, "teeth"),
            "new_teeth": Given(ripple.new_teeth, "teeth"),
        },
        asked=Asked("percent_of_before", "%", 0),
        steps=(*_steps(ripple), *_steps(Ripple(ripple.new_teeth)), _share(ripple)),
        value=round(ripple.part_left, 0),
        tolerance=1,
        wrong=wrong_answers(LEFT, ripple),
        right_because="The ripple falls nearly with the square of the teeth.",
        **pictured(single_sprocket, _polygon(ripple.teeth), _polygon(ripple.new_teeth)),
        reference=_REFERENCE,
    )


def _share(ripple: Ripple) -> Step:
    before, after = round(ripple.percent, 2), round(100 * speed_ripple(ripple.new_teeth), 2)
    left = round(ripple.part_left)
    return Step(f"{plain(after)} / {plain(before)} = {left} %.", left, "%")


def _steps(ripple: Ripple) -> tuple[Step, ...]:
    half = round(180 / ripple.teeth, 3)
    value = round(ripple.percent, 2)
    return (
        Step(f"Half a tooth angle: 180° / {ripple.teeth} = {degrees(half)}.", half, "°"),
        Step(f"Ripple: 1 − cos {degrees(half)} = {plain(value)} %.", value, "%"),
    )
