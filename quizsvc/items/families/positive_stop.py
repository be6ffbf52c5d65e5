"""Family `positive-stop`: how far a degree wheel's zero is out, from two stop readings."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import degree_wheel
from quizsvc.figures.degree_wheel import DegreeWheel
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import stop_angle_deg, wheel_error_deg

ASKED = Asked("wheel_error_deg", "°", 2)
TOLERANCE_DEG = 0.05


@dataclass(frozen=True, slots=True)
class Readings:
    before_deg: float
    after_deg: float

    @property
    def difference(self) -> float:
        return self.before_deg - self.after_deg


IDEAS: tuple[Idea[Readings], ...] = (
    Idea(
        "difference-not-halved",
        lambda r: r.difference,
        "That is the whole difference; turning the wheel changes both readings.",
    ),
    Idea("halved-twice", lambda r: r.difference / 4, "That is halved once too often."),
    Idea(
        "mean-for-error",
        lambda r: stop_angle_deg(r.before_deg, r.after_deg),
        "That is the true angle of the stop, not the error of the wheel.",
    ),
    Idea(
        "wheel-error-reversed",
        lambda r: -r.difference / 2,
        "The size is right, the sign is not: before minus after.",
    ),
    Idea(
        "close-is-good-enough",
        lambda _: 0.0,
        "Only equal readings mean a true zero.",
    ),
)


@family(
    "positive-stop",
    version=1,
    topic="piston",
    title="Degree wheel and positive stop",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("reading_before_deg", "reading_after_deg"),
    asks="wheel_error_deg",
    key_follows="Half the difference: reading before TDC less reading after TDC.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution="Turn by hand only and gently on to the stop, drive and valves so that nothing can "
    f"meet, and take the stop out before anything else is turned. {cautions.FIRST}",
)
def ask(_sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    readings = _drawn(draw, level)
    value = wheel_error_deg(readings.before_deg, readings.after_deg)
    wrong = wrong_answers(IDEAS, readings)
    steps, story, keep = _steps(readings, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_DEG)
        story, keep = f" {said.sentence}", said.keep
        steps += (said.step,)
    before, after = degrees(readings.before_deg), degrees(readings.after_deg)
    state = DegreeWheel(readings.before_deg, readings.after_deg)
    return Question(
        prompt=(
            "A degree wheel sits on the crankshaft, a positive stop in the plug hole of cylinder "
            f"1. Turned up to the stop, the pointer shows {before} before TDC; turned back to it "
            f"from the other side, {after} after TDC.{story} How far is the wheel's zero out? "
            "Positive means that the pointer meets zero after true TDC. "
            f"{answer_in('crank degrees', 2)}"
        ),
        givens={
            "reading_before_deg": Given(readings.before_deg, "°"),
            "reading_after_deg": Given(readings.after_deg, "°"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong,
        keep=keep,
        right_because="Half the difference of the two readings.",
        reference="degree-wheel practice: equal readings on both sides of true TDC",
        **pictured(degree_wheel, state),
    )


def _drawn(draw: Draw, level: Level) -> Readings:
    """Recall in whole degrees, else in quarters, which a wheel can be read to."""
    grain = 1.0 if level is Level.RECALL else 0.25
    before = draw.step(20, 60, grain)
    # Halves keep the error, and half of it, within two shown places.
    shift = draw.step(0.5, 4, 0.5) if level is not Level.RECALL else draw.step(2, 6, 2)
    after = before + (shift if draw.chance(0.5) else -shift)
    if not 15 <= after <= 65:
        raise Redraw
    return Readings(before, after)


def _steps(readings: Readings, value: float) -> tuple[Step, ...]:
    before, after = plain(readings.before_deg), plain(readings.after_deg)
    stop = stop_angle_deg(readings.before_deg, readings.after_deg)
    error = number_text(value, 2, "°")
    return (
        Step("The stop stands equally far on both sides of true TDC, so both should be equal."),
        Step(f"True angle of the stop: ({before} + {after}) ÷ 2 = {degrees(stop)}.", stop, "°"),
        Step(f"Error of the zero: ({before} − {after}) ÷ 2 = {error}.", value, "°"),
        Step(f"Set the wheel so that both sides read {degrees(stop)}.", stop, "°"),
    )
