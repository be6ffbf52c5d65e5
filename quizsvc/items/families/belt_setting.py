"""Family `belt-setting`: to which tension a belt of a certain age is set."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import setting_scale
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import BELT_SETTING
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.belt import RUN_IN_MINUTES, setting_for_age

USUAL_NEW_N, USUAL_USED_N = 650.0, 480.0


@dataclass(frozen=True, slots=True)
class Belt:
    """How long a belt has run, and the two settings it may take."""

    minutes_run: float
    new_n: float
    used_n: float

    @property
    def setting_n(self) -> float:
        return setting_for_age(self.minutes_run, new=self.new_n, used=self.used_n)

    @property
    def is_used(self) -> bool:
        return self.setting_n == self.used_n


IDEAS: tuple[Idea[Belt], ...] = (
    Idea(
        "belt-always-as-new",
        lambda b: b.new_n if b.is_used else None,
        "This belt has run in; set like a new one it overloads itself and the bearings.",
    ),
    Idea(
        "belt-age-swapped",
        lambda b: None if b.is_used else b.used_n,
        "This belt has not run in yet; it will lose tension and then be too slack.",
    ),
    Idea(
        "belt-set-midway",
        lambda b: (b.new_n + b.used_n) / 2,
        "Midway belongs to no belt: the two settings are for two states.",
    ),
    Idea(
        "belt-old-set-tighter",
        lambda b: 2 * b.new_n - b.used_n,
        "Beyond the setting for new there is nothing to gain; bearings suffer.",
    ),
    Idea(
        "belt-slack-for-life",
        lambda b: 2 * b.used_n - b.new_n,
        "A belt set slacker than for a used one slips and heats up.",
    ),
)


@family(
    "belt-setting",
    version=1,
    topic="wear",
    title="Setting of a new or a used belt",
    levels=(Level.RECALL, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE, Kind.NUMBER),
    gives=("belt_age", "run_in_minutes", "tension_new_n", "tension_used_n"),
    asks="position",
    key_follows="A belt that has run for ten minutes or more counts as used; below that as new.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=BELT_SETTING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: plainly new or used. Diagnose: run for minutes only, or refitted."""
    stated = sheet.accessory_belt
    new = (stated.tension_new_n if stated else USUAL_NEW_N) + 10 * draw.integer(-5, 8)
    used = (stated.tension_used_n if stated else USUAL_USED_N) + 10 * draw.integer(-5, 5)
    minutes, story = _story(draw, level)
    belt = Belt(minutes, new, used)
    return Question(
        prompt=f"{story} The belt's settings are {plain(new)} N for a new and {plain(used)} N for "
        f"a used belt; one that has run {plain(RUN_IN_MINUTES)} minutes counts as used. To which "
        f"tension is it set now? {answer_in('N', 0)}",
        givens={
            "belt_age": Given(minutes, "min"),
            "run_in_minutes": Given(RUN_IN_MINUTES, "min"),
            "tension_new_n": Given(new, "N"),
            "tension_used_n": Given(used, "N"),
        },
        asked=Asked("position", "N"),
        steps=_steps(belt),
        value=belt.setting_n,
        tolerance=5,
        wrong=wrong_answers(IDEAS, belt),
        right_because="The setting that belongs to what the belt has run.",
        **pictured(setting_scale, _scale(belt)),
        keep="belt-always-as-new" if belt.is_used else "belt-age-swapped",
        reference="common practice, no source; the maker's information comes first",
    )


def _scale(belt: Belt) -> setting_scale.SettingScale:
    return setting_scale.SettingScale(
        0,
        1000,
        "N",
        ((belt.used_n, "used belt"), (belt.new_n, "new belt")),
        right="used belt" if belt.is_used else "new belt",
        note="Scale of the tension gauge in N.",
    )


def _story(draw: Draw, level: Level) -> tuple[float, str]:
    if level is Level.RECALL:
        if draw.chance(0.5):
            return 0.0, "A ribbed belt out of the box, run 0 minutes, is fitted."
        hours = draw.integer(2, 40) * 50
        return 60.0 * hours, (
            f"A ribbed belt that has run about {hours} hours ({hours * 60} minutes) is refitted "
            "after other work."
        )
    minutes = draw.choice((3, 4, 5, 6, 7, 15, 20, 25, 30, 45))
    return float(minutes), (
        f"A new ribbed belt was fitted and the engine run for {minutes} minutes. Then the belt had "
        "to come off once more; now it is put back."
    )


def _steps(belt: Belt) -> tuple[Step, ...]:
    run = f"It has run {plain(belt.minutes_run)} minutes"
    if belt.is_used:
        return (
            Step(f"{run}, {plain(RUN_IN_MINUTES)} or more: it counts as used."),
            Step(f"A used belt is set to {plain(belt.used_n)} N.", belt.used_n, "N"),
            Step("Set as new it would be too tight: bearings and belt suffer."),
        )
    return (
        Step(f"{run}, less than {plain(RUN_IN_MINUTES)}: it still counts as new."),
        Step(f"A new belt is set to {plain(belt.new_n)} N.", belt.new_n, "N"),
        Step("It beds in and loses tension, so it is checked again later."),
    )
