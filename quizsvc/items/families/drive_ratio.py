"""Family `drive-ratio`: turns of the crankshaft for one turn of the last shaft."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import drive_stages
from quizsvc.figures.drive_stages import DriveStages
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import claim, counted
from quizsvc.items.picture import pictured
from quizsvc.sheets.drive_words import DriveWords, words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import cams_of, stages_to
from quizsvc.timing import chain

ASKED = Asked("ratio", "", 2)
TOLERANCE = 0.01
_SHAFTS = ("oil pump", "balance shaft", "injection pump", "coolant pump")


@dataclass(frozen=True, slots=True)
class Train:
    """Driving and driven teeth, stage by stage, and an idler in the first chain if there is one."""

    driving: tuple[int, ...]
    driven: tuple[int, ...]
    idler: int = 0

    @property
    def stages(self) -> tuple[tuple[int, int], ...]:
        return tuple(zip(self.driving, self.driven, strict=True))

    @property
    def each(self) -> tuple[float, ...]:
        return tuple(last / first for first, last in self.stages)

    @property
    def two(self) -> bool:
        return len(self.driving) > 1


IDEAS: tuple[Idea[Train], ...] = (
    Idea(
        "ratio-upside-down",
        lambda t: 1 / math.prod(t.each),
        "That divides driving by driven teeth.",
    ),
    Idea(
        "only-the-first-stage",
        lambda t: t.each[0] if t.two else None,
        "That leaves the later stage out.",
    ),
    Idea(
        "only-the-last-stage",
        lambda t: t.each[-1] if t.two else None,
        "That leaves the first stage out.",
    ),
    Idea("stages-added", lambda t: sum(t.each) if t.two else None, "Stages multiply."),
    Idea(
        "ends-only",
        lambda t: t.driven[-1] / t.driving[0] if t.two else None,
        "That drops the two wheels on the shaft between.",
    ),
    Idea(
        "teeth-summed",
        lambda t: sum(t.driven) / sum(t.driving) if t.two else None,
        "That adds teeth before dividing.",
    ),
    Idea(
        "idler-counts",
        lambda t: t.driven[0] / t.idler if t.idler else None,
        "An idler changes no ratio.",
    ),
    Idea(
        "idler-for-driven",
        lambda t: t.idler / t.driving[0] if t.idler else None,
        "That stops at the idler.",
    ),
    Idea(
        "teeth-difference",
        lambda t: (t.driven[0] - t.driving[0]) / t.driving[0] if not t.two else None,
        "That divides the difference of the teeth.",
    ),
)


@family(
    "drive-ratio",
    version=1,
    topic="marks",
    title="Ratio of a drive",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("driver_teeth", "driven_teeth", "idler_teeth"),
    asks="ratio",
    key_follows="Driven ÷ driving teeth of each stage, multiplied; an idler changes nothing.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    train, shaft = _drawn(sheet, draw, level)
    value = chain.drive_ratio(train.stages)
    wrong = [one for one in wrong_answers(IDEAS, train) if float(one.value) > 0]  # type: ignore[arg-type]
    words = words_of_sheet(sheet)
    steps, story, keep = _steps(train, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE)
        mixed = f"{words.wheels.capitalize()} from two repair kits may have been mixed."
        story, keep = f"{mixed} {said.sentence} ", said.keep
        steps += (said.step,)
    givens = {"driver_teeth": Given(train.driving), "driven_teeth": Given(train.driven)}
    if train.idler:
        givens["idler_teeth"] = Given(train.idler)
    state = DriveStages(train.driving, train.driven, shaft, train.idler, words.loop)
    return Question(
        prompt=(
            f"{_described(train, shaft, words)} {story}How many turns does the crankshaft make "
            f"for one turn of the {shaft}? Answer in turns, to two decimal places."
        ),
        givens=givens,
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE,
        wrong=tuple(wrong),
        keep=keep,
        right_because="Driven over driving, stage by stage.",
        reference="engine texts: driven / driving teeth, stages multiplied",
        **pictured(drive_stages, state),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> tuple[Train, str]:
    """Recall: the sheet's way to a camshaft; else another train, often to another shaft."""
    if level is Level.RECALL:
        stages = stages_to(sheet, draw.choice(cams_of(sheet)).id)
        driving, driven = (tuple(side) for side in zip(*stages, strict=True))
        idler = 0 if len(stages) > 1 else draw.integer(driving[0] + 2, driven[0] - 2)
        return Train(driving, driven, idler), "camshaft"
    if draw.chance(0.4):
        first, last = draw.integer(16, 26), draw.integer(18, 44)
        train = Train((first,), (last,), draw.integer(18, 32))
    else:
        train = Train(
            (draw.integer(17, 26), draw.integer(16, 28)),
            (draw.integer(24, 40), draw.integer(18, 38)),
        )
    ratio = chain.drive_ratio(train.stages)
    if not 0.6 <= ratio <= 3 or train.idler in {*train.driving, *train.driven}:
        raise Redraw
    return train, draw.choice(_SHAFTS)


def _described(train: Train, shaft: str, words: DriveWords) -> str:
    loop, wheel = words.loop, words.wheel
    first = f"A crank {wheel} of {counted(train.driving[0], 'tooth', 'teeth')} drives"
    if not train.two:
        return (
            f"{first}, over an idler of {train.idler} teeth in the same {loop}, a {wheel} of "
            f"{train.driven[0]} teeth on the {shaft}."
        )
    return (
        f"{first} a {wheel} of {train.driven[0]} teeth. Fixed to the same shaft, a {wheel} of "
        f"{train.driving[1]} teeth drives one of {train.driven[1]} teeth on the {shaft} by a "
        f"second {loop}."
    )


def _steps(train: Train, value: float) -> tuple[Step, ...]:
    steps = [Step("One turn of a driven wheel takes driven ÷ driving turns of its driver.")]
    if train.idler:
        steps.append(
            Step("The idler passes on as many pitches as it takes: leave it out.", train.idler)
        )
    for number, (first, last) in enumerate(train.stages, 1):
        name = f"Stage {number}: " if train.two else ""
        steps.append(Step(f"{name}{last} ÷ {first} = {last / first:.3f}.", last / first))
    if train.two:
        shown = " × ".join(f"{ratio:.3f}" for ratio in train.each)
        steps.append(Step(f"Multiplied: {shown} = {value:.2f}.", value))
    else:
        steps.append(Step(f"Rounded: {value:.2f}.", value))
    return tuple(steps)
