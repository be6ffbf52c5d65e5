"""Family `belt-length`: length of an open belt over two pulleys."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.belt import open_belt_length_mm, small_pulley_wrap_deg


@dataclass(frozen=True, slots=True)
class Open:
    """An open belt over two pulleys, diameters on the line on which it runs."""

    small_mm: float
    large_mm: float
    centre_mm: float

    @property
    def lean_rad(self) -> float:
        return math.asin((self.large_mm - self.small_mm) / 2 / self.centre_mm)

    @property
    def strands_mm(self) -> float:
        return 2 * self.centre_mm * math.cos(self.lean_rad)

    @property
    def halves_mm(self) -> float:
        """Half of each circumference."""
        return math.pi * (self.small_mm + self.large_mm) / 2

    @property
    def length_mm(self) -> float:
        return open_belt_length_mm(self.small_mm, self.large_mm, self.centre_mm)

    @property
    def wrap_deg(self) -> float:
        return small_pulley_wrap_deg(self.small_mm, self.large_mm, self.centre_mm)


def _unequal(value: float, belt: Open) -> float | None:
    return value if belt.small_mm != belt.large_mm else None


LENGTHS: tuple[Idea[Open], ...] = (
    Idea(
        "belt-straight-only",
        lambda b: _unequal(2 * b.centre_mm + b.halves_mm, b),
        "With unequal pulleys the strands slant, and the belt is longer.",
    ),
    Idea(
        "belt-half-wrap-both",
        lambda b: _unequal(b.strands_mm + b.halves_mm, b),
        "The wrap is more than half a turn on the large pulley, less on the small one.",
    ),
    Idea(
        "belt-full-circles",
        lambda b: b.strands_mm + 2 * b.halves_mm,
        "The belt lies round about half of each pulley.",
    ),
    Idea(
        "belt-one-strand",
        lambda b: b.length_mm - b.centre_mm,
        "The belt runs there and back: two strands.",
    ),
    Idea(
        "belt-radius-for-diameter",
        lambda b: b.strands_mm + b.halves_mm / 2,
        "Half a circumference is π times the radius, that is π·D/2.",
    ),
    Idea(
        "belt-pi-forgotten",
        lambda b: b.strands_mm + (b.small_mm + b.large_mm) / 2,
        "Round the pulleys it is half of π times the diameter.",
    ),
)
WRAPS: tuple[Idea[Open], ...] = (
    Idea(
        "belt-wrap-swapped",
        lambda b: 360 - b.wrap_deg,
        "This is the large pulley: it has more than half a turn, the small one less.",
    ),
    Idea("belt-half-wrap-both", lambda _: 180.0, "Half a turn holds for equal pulleys only."),
    Idea(
        "belt-lean-once",
        lambda b: 180 - math.degrees(b.lean_rad),
        "Both strands slant, so the angle counts twice.",
    ),
    Idea(
        "belt-radius-for-diameter",
        lambda b: (
            180 - 2 * math.degrees(math.asin(2 * math.sin(b.lean_rad)))
            if 2 * math.sin(b.lean_rad) < 1
            else None
        ),
        "The slant comes from the difference of the radii, not of the diameters.",
    ),
)


@family(
    "belt-length",
    version=1,
    topic="accessory",
    title="Length of an open belt",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("small_mm", "large_mm", "centre_mm"),
    asks="length_mm or wrap_deg",
    key_follows="Two slanted strands, half of each circumference, and what the slant shifts.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*LENGTHS, *WRAPS))),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: equal pulleys. Apply: unequal. Diagnose: wrap on the small one, where it slips."""
    belt = _drawn(sheet, draw, level)
    said = (
        f"An open belt runs over {_pulley_words(belt)} diameter on its running line, centre "
        f"distance {plain(belt.centre_mm)} mm."
    )
    givens = {
        "small_mm": Given(belt.small_mm, "mm"),
        "large_mm": Given(belt.large_mm, "mm"),
        "centre_mm": Given(belt.centre_mm, "mm"),
    }
    if level is Level.DIAGNOSE:
        return _wrap(belt, said, givens)
    value = round(belt.length_mm)
    return Question(
        prompt=f"{said} How long is the belt? {answer_in('mm', 0)}",
        givens=givens,
        asked=Asked("length_mm", "mm", 0),
        steps=_steps(belt),
        value=float(value),
        tolerance=1,
        wrong=wrong_answers(LENGTHS, belt),
        right_because="Strands and arcs as they really lie.",
        **pictured(pulley_pair, _picture(belt, "length")),
        reference="belt texts: 2C·cos α + π(D + d)/2 + α(D − d)",
    )


def _picture(belt: Open, asked: str) -> pulley_pair.PulleyPair:
    equal = belt.small_mm == belt.large_mm
    names = ("first pulley", "second pulley") if equal else ("small pulley", "large pulley")
    return pulley_pair.PulleyPair(
        pulley_pair.Pulley(names[0], belt.small_mm),
        pulley_pair.Pulley(names[1], belt.large_mm),
        belt.centre_mm,
        asked=asked,
    )


def _pulley_words(belt: Open) -> str:
    if belt.small_mm == belt.large_mm:
        return f"two pulleys of {plain(belt.small_mm)} mm"
    return f"pulleys of {plain(belt.small_mm)} and {plain(belt.large_mm)} mm"


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Open:
    sizes = sorted({pulley.diameter_mm for pulley in sheet.pulleys}) or [60.0, 120.0, 160.0]
    if level is Level.RECALL:
        size = draw.choice(sizes) + 2 * draw.integer(-4, 8)
        return Open(size, size, float(5 * draw.integer(int(size / 5) + 10, int(size / 5) + 80)))
    small = sizes[0] + 2 * draw.integer(-4, 20)
    large = max(small + 40, sizes[-1] + 2 * draw.integer(-10, 20))
    least = int((small + large) / 10) + 6
    return Open(small, large, float(5 * draw.integer(least, least + 50)))


def _wrap(belt: Open, said: str, givens: dict[str, Given]) -> Question:
    value, lean = round(belt.wrap_deg, 1), round(math.degrees(belt.lean_rad), 2)
    step = round((belt.large_mm - belt.small_mm) / 2, 1)
    return Question(
        prompt=f"{said} It squeals on the small pulley. How far does it lie round that pulley? "
        f"{answer_in('degrees', 1)}",
        givens=givens,
        asked=Asked("wrap_deg", "°", 1),
        steps=(
            Step(f"The radii differ by {plain(step)} mm.", step, "mm"),
            Step(f"Slant: sin α = {plain(step)} / {plain(belt.centre_mm)}, α = {degrees(lean)}.",
                 lean, "°"),
            Step(f"180° − 2 × {degrees(lean)} = {degrees(value)}.", value, "°"),
            Step("The less wrap, the sooner a slack or wet belt slips there."),
        ),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(WRAPS, belt),
        right_because="Half a turn less the slant of both strands.",
        **pictured(pulley_pair, _picture(belt, "first wrap")),
    )  # fmt: skip


def _steps(belt: Open) -> tuple[Step, ...]:
    lean, value = round(math.degrees(belt.lean_rad), 3), round(belt.length_mm)
    strands, halves = round(belt.strands_mm, 1), round(belt.halves_mm, 1)
    if not lean:
        return (
            Step(f"Two strands: 2 × {plain(belt.centre_mm)} = {plain(strands)} mm.", strands, "mm"),
            Step(f"Two halves make one circumference: π × {plain(belt.small_mm)} = "
                 f"{plain(halves)} mm.", halves, "mm"),
            Step(f"Together {value} mm.", value, "mm"),
        )  # fmt: skip
    shift = round(belt.lean_rad * (belt.large_mm - belt.small_mm), 1)
    return (
        Step(
            f"Slant: sin α = ({plain(belt.large_mm)} − {plain(belt.small_mm)}) / (2 × "
            f"{plain(belt.centre_mm)}), α = {degrees(lean)}.",
            lean,
            "°",
        ),
        Step(f"Two strands: 2 × {plain(belt.centre_mm)} × cos α = {plain(strands)} mm.", strands,
             "mm"),
        Step(f"Half of each circumference: {plain(halves)} mm.", halves, "mm"),
        Step(f"More on the large, less on the small pulley: {plain(shift)} mm.", shift, "mm"),
        Step(f"Together {value} mm.", value, "mm"),
    )  # fmt: skip
