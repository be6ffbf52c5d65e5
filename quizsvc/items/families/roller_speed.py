"""Family `roller-speed`: how fast and which way a roller on a timing belt's back turns."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from quizsvc.figures import drive_view
from quizsvc.items.assemble import Question
from quizsvc.items.belt_pair import belt_pair_view, natural_teeth
from quizsvc.items.cautions import BELTS_TURN
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import clockwise
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet

PITCH_MM = 8.0  # of the belt in the picture


@dataclass(frozen=True, slots=True)
class Turning:
    """A crank pulley in a belt, and a smooth roller on its back.

    ``rpm`` is the speed that is given: the crankshaft's, or the roller's where that was measured.
    """

    crank_teeth: int
    roller_mm: float  # diameter to the belt's pitch line
    rpm: float
    measured: bool = False

    @property
    def ratio(self) -> float:
        """Turns of the roller per crank turn, whichever way."""
        return self.crank_teeth * PITCH_MM / (math.pi * self.roller_mm)

    @property
    def answer_rpm(self) -> float:
        """The roller's speed, negative against the crankshaft; or the crankshaft's speed."""
        return self.rpm / self.ratio if self.measured else -self.rpm * self.ratio

    def given_upside_down(self) -> float:
        return self.rpm * self.ratio if self.measured else -self.rpm / self.ratio


IDEAS: tuple[Idea[Turning], ...] = (
    Idea(
        "roller-turns-alike",
        lambda t: None if t.measured else -t.answer_rpm,
        "On the belt's back it turns against the crankshaft.",
    ),
    Idea(
        "roller-speed-of-crank",
        lambda t: t.rpm if t.measured else -t.rpm,
        "The belt has one speed, wheels of different size have not.",
    ),
    Idea(
        "roller-ratio-inverted",
        lambda t: t.given_upside_down(),
        "A roller smaller than the crank pulley turns faster.",
    ),
    Idea(
        "roller-radius-for-diameter",
        lambda t: 2 * t.answer_rpm if not t.measured else t.answer_rpm / 2,
        "The roller's circumference is π times its diameter.",
    ),
    Idea(
        "roller-half-speed",
        lambda t: 2 * t.rpm if t.measured else -t.rpm / 2,
        "Half speed belongs to the camshaft; here the circumferences decide.",
    ),
    Idea(
        "roller-pi-forgotten",
        lambda t: math.pi * t.answer_rpm if not t.measured else t.answer_rpm / math.pi,
        "Belt that passes is measured round the roller, not across it.",
    ),
)


@family(
    "roller-speed",
    version=1,
    topic="chain",
    title="Roller on a timing belt's back",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("crank_teeth", "pitch_mm", "roller_mm", "crank_rpm", "roller_rpm"),
    asks="roller_rpm or crank_rpm",
    key_follows="Belt passed, teeth times pitch, over the roller's circumference; on the back it "
    "turns against the crankshaft.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=BELTS_TURN,
    drive="belt",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: the roller's speed and direction. Diagnose: the engine's speed from the roller's."""
    measured = level is Level.DIAGNOSE
    crank, roller = draw.integer(18, 24), draw.integer(50, 72)
    turning = Turning(crank, float(roller), float(50 * draw.integer(14, 90)), measured)
    value = turning.answer_rpm
    view = belt_pair_view(
        crank,
        natural_teeth(crank) + draw.integer(0, 5),
        runs_clockwise=clockwise(sheet),
        roller_mm=turning.roller_mm,
        marks=False,
    )
    return Question(
        prompt=f"A crank pulley of {crank} teeth runs in a toothed belt of {plain(PITCH_MM)} mm "
        f"pitch. The tensioner's smooth roller, {plain(turning.roller_mm)} mm in diameter to the "
        f"belt's pitch line, runs on the belt's back without slip. {_asks(turning)}",
        givens={
            "crank_teeth": Given(crank, "teeth"),
            "pitch_mm": Given(PITCH_MM, "mm"),
            "roller_mm": Given(turning.roller_mm, "mm"),
            ("roller_rpm" if measured else "crank_rpm"): Given(turning.rpm, "rpm"),
        },
        asked=Asked("crank_rpm" if measured else "roller_rpm", "rpm"),
        steps=_steps(turning),
        value=value,
        tolerance=max(2.0, round(abs(value) * 0.005)),
        wrong=wrong_answers(IDEAS, turning),
        right_because="As much belt passes the roller as the crank pulley sends.",
        reference="one belt, one speed of its pitch line",
        **pictured(drive_view, view, replace(view, note=_solved(turning))),
    )


def _solved(turning: Turning) -> str:
    return f"The roller turns against the crankshaft, {turning.ratio:.3f} times per crank turn."


def _asks(turning: Turning) -> str:
    if turning.measured:
        return (
            f"A strobe held on a line on the roller shows that it turns at {plain(turning.rpm)} "
            f"rpm. How fast does the crankshaft turn? {answer_in('rpm', 0)}"
        )
    return (
        f"The crankshaft turns at {plain(turning.rpm)} rpm. How fast does the roller turn, minus "
        f"if against the crankshaft? {answer_in('rpm', 0)}"
    )


def _steps(turning: Turning) -> tuple[Step, ...]:
    passed, round_mm = turning.crank_teeth * PITCH_MM, math.pi * turning.roller_mm
    steps = (
        Step(
            f"A crank turn sends {turning.crank_teeth} × {plain(PITCH_MM)} = {plain(passed)} mm of "
            "belt.",
            passed,
            "mm",
        ),
        Step(
            f"The roller's circumference is π × {plain(turning.roller_mm)} = {round_mm:.1f} mm: "
            f"{turning.ratio:.3f} turns per crank turn.",
            turning.ratio,
        ),
    )
    if turning.measured:
        speed = turning.answer_rpm
        return (
            *steps,
            Step(f"{plain(turning.rpm)} ÷ {turning.ratio:.3f} = {speed:.0f} rpm.", speed, "rpm"),
        )
    speed = abs(turning.answer_rpm)
    return (
        *steps,
        Step(f"{plain(turning.rpm)} × {turning.ratio:.3f} = {speed:.0f} rpm.", speed, "rpm"),
        Step("On the belt's back it turns against the crankshaft: minus."),
    )
