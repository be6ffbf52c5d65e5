"""Family `belt-renewal`: when a timing belt is due, by distance or by age."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from quizsvc.figures import setting_scale
from quizsvc.figures.setting_scale import SettingScale
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Redraw, Wrong
from quizsvc.items.phrases import counted
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet

ASKED = Asked("months_left", "months", 0)
TOLERANCE_MONTHS = 1.0
APART_MONTHS = 6.0  # by less the two limits would make no difference to learn from
INTERVALS = ((60_000, 4), (90_000, 5), (100_000, 5), (120_000, 6), (150_000, 8), (180_000, 10))
FIRST = "The intervals here are invented; severe use, or oil or coolant on a belt, shortens any."


@dataclass(frozen=True, slots=True)
class Belt:
    """An interval, and what a belt has behind it; ``km_a_month`` at the pace it goes on."""

    renew_km: int
    renew_years: int
    km_a_month: float
    age_months: int = 0

    @property
    def run_km(self) -> float:
        return self.km_a_month * self.age_months

    @property
    def by_distance(self) -> float:
        return (self.renew_km - self.run_km) / self.km_a_month

    @property
    def by_age(self) -> float:
        return 12.0 * self.renew_years - self.age_months

    @property
    def left(self) -> float:
        return min(self.by_distance, self.by_age)

    @property
    def first(self) -> str:
        return "by age" if self.by_age < self.by_distance else "by distance"


# misconception, months it comes to, how it is put in words, why it is wrong
IDEAS: tuple[tuple[str, Callable[[Belt], float | None], str, str], ...] = (
    (
        "renewal-by-distance-only",
        lambda b: b.by_distance if b.first == "by age" else None,
        "by distance",
        "Its age runs out sooner, however little it has run.",
    ),
    (
        "renewal-by-age-only",
        lambda b: b.by_age if b.first == "by distance" else None,
        "by age",
        "Its distance runs out sooner, however young it is.",
    ),
    (
        "renewal-halfway",
        lambda b: (b.by_age + b.by_distance) / 2,
        "halfway between the limits",
        "The limits are not averaged: the first that is reached counts.",
    ),
    (
        "renewal-one-after-the-other",
        lambda b: b.by_age + b.by_distance,
        "one limit after the other",
        "Both run from the day it was fitted, side by side.",
    ),
    (
        "renewal-from-today",
        lambda b: min(12.0 * b.renew_years, b.renew_km / b.km_a_month) if b.age_months else None,
        "counted from today",
        "The interval began when the belt was fitted.",
    ),
)


@family(
    "belt-renewal",
    version=1,
    topic="wear",
    title="When a timing belt is due",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE, Kind.NUMBER),
    gives=("renew_km", "renew_years", "km_a_month", "age_months", "run_km"),
    asks="months_left",
    key_follows="Months to the distance limit and to the age limit, each from the day of fitting; "
    "the smaller counts.",
    misconceptions=tuple(idea for idea, _, _, _ in IDEAS),
    caution=f"{FIRST} {cautions.FIRST}",
    drive="belt",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: a belt just fitted. Diagnose: one that has run, perhaps too long already."""
    belt = _drawn(sheet, draw, level)
    wrong = tuple(
        Wrong(idea, value, because, f"{_when(value)}, {words}")
        for idea, months, words, because in IDEAS
        if (value := months(belt)) is not None
    )
    choose = kind is Kind.ONE_CHOICE
    state = _scale(belt)
    return Question(
        prompt=f"{_prompt(belt)} {_asked(choose=choose)}",
        givens=_givens(belt),
        asked=ASKED,
        steps=_steps(belt),
        value=belt.left,
        tolerance=TOLERANCE_MONTHS,
        right=((belt.left, f"{_when(belt.left)}, {belt.first}"),) if choose else (),
        wrong=wrong,
        right_because="The limit that is reached first.",
        caution=cautions.interference_of(sheet),
        reference="whichever comes first: common practice, no source",
        **pictured(
            setting_scale,
            state,
            replace(state, note=f"Scale in thousand km. Due {belt.first}: {_when(belt.left)}."),
        ),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Belt:
    own = [(d.renew_km, d.renew_years) for d in sheet.drives if d.renew_km and d.renew_years]
    km, years = draw.choice(own) if own and draw.chance(0.4) else draw.choice(INTERVALS)
    age = draw.integer(8, 12 * years + 14) if level is Level.DIAGNOSE else 0
    belt = Belt(km, years, 50.0 * draw.integer(10, 70), age)
    near = abs(belt.by_age - belt.by_distance) < APART_MONTHS
    if near or abs(belt.left) < 2 * TOLERANCE_MONTHS or belt.run_km > 1.4 * km:
        raise Redraw
    return belt


def _prompt(belt: Belt) -> str:
    interval = (
        f"The sheet of an invented engine says: renew the timing belt every {belt.renew_km} km or "
        f"every {belt.renew_years} years, whichever comes first."
    )
    if not belt.age_months:
        return (
            f"{interval} A new one is fitted today; the car covers {belt.km_a_month:.0f} km a "
            "month."
        )
    return (
        f"{interval} The one fitted {belt.age_months} months ago has run {belt.run_km:.0f} km, "
        f"that is {belt.km_a_month:.0f} km a month, and goes on so."
    )


def _asked(*, choose: bool) -> str:
    if choose:
        return "When is it due?"
    return (
        "In how many months is it due? If it should have been renewed already, give the months "
        "with a minus. Answer in months, to the nearest whole number."
    )


def _when(months: float) -> str:
    whole = round(abs(months))
    if not whole:
        return "now"
    said = counted(whole, "month")
    return f"in {said}" if months > 0 else f"overdue since {said}"


def _givens(belt: Belt) -> dict[str, Given]:
    givens = {
        "renew_km": Given(belt.renew_km, "km"),
        "renew_years": Given(belt.renew_years, "years"),
        "km_a_month": Given(belt.km_a_month, "km"),
    }
    if belt.age_months:
        givens |= {
            "age_months": Given(belt.age_months, "months"),
            "run_km": Given(belt.run_km, "km"),
        }
    return givens


def _scale(belt: Belt) -> SettingScale:
    limit = belt.renew_km / 1000
    top = 50.0 * (max(limit, belt.run_km / 1000) * 1.1 // 50 + 1)
    return SettingScale(
        0.0,
        top,
        "thousand km",
        ((limit, "distance limit"),),
        pointer=round(belt.run_km / 1000, 1),
        note="Scale in thousand km; the pointer: what the belt has run. Its age limit: "
        f"{belt.renew_years} years.",
    )


def _steps(belt: Belt) -> tuple[Step, ...]:
    run = f" − {belt.run_km:.0f}" if belt.age_months else ""
    old = f" − {belt.age_months}" if belt.age_months else ""
    whole = f"({belt.renew_km}{run})" if run else f"{belt.renew_km}"
    return (
        Step(
            f"By distance: {whole} ÷ {belt.km_a_month:.0f} = {_signed(belt.by_distance)} months.",
            belt.by_distance,
            "months",
        ),
        Step(
            f"By age: {belt.renew_years} × 12{old} = {_signed(belt.by_age)} months.",
            belt.by_age,
            "months",
        ),
        Step(f"The first that is reached counts: {_when(belt.left)}, {belt.first}."),
    )


def _signed(months: float) -> str:
    return f"{months:.1f}".removesuffix(".0").replace("-", "−")
