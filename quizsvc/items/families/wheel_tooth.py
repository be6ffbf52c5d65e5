"""Family `wheel-tooth`: steps, gap and pulses of a tone wheel."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import tone_wheel
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import RUNNING_SIGNALS
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.items.tone_wheel import a_wheel, wheel_givens, wheel_words
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.sensors import ToneWheel


@dataclass(frozen=True, slots=True)
class Turning:
    wheel: ToneWheel
    rpm: int = 0

    @property
    def pulses_per_s(self) -> float:
        return self.wheel.teeth * self.rpm / 60


STEP: tuple[Idea[Turning], ...] = (
    Idea(
        "missing-teeth-spread-out",
        lambda t: 360 / t.wheel.teeth,
        "The turn is divided by the places, not by the teeth that are left.",
    ),
    Idea(
        "degree-as-part-of-cycle",
        lambda t: 720 / t.wheel.places,
        "The wheel sits on the crankshaft: one turn is 360°.",
    ),
    Idea(
        "tooth-width-for-step",
        lambda t: 180 / t.wheel.places,
        "This is about the width of a tooth; from edge to edge the space belongs to it.",
    ),
    Idea(
        "missing-teeth-added",
        lambda t: 360 / (t.wheel.places + t.wheel.missing),
        "The first number already counts the places of the missing teeth.",
    ),
)
GAP: tuple[Idea[Turning], ...] = (
    Idea(
        "gap-is-missing-only",
        lambda t: t.wheel.missing * t.wheel.step_deg,
        "From tooth to tooth across the gap it is one step more than there are missing teeth.",
    ),
    Idea(
        "gap-one-place-too-many",
        lambda t: (t.wheel.missing + 2) * t.wheel.step_deg,
        "This counts both teeth beside the gap; count the steps between them.",
    ),
    Idea(
        "missing-teeth-spread-out",
        lambda t: (t.wheel.missing + 1) * 360 / t.wheel.teeth,
        "The turn is divided by the places, not by the teeth that are left.",
    ),
    Idea(
        "degree-as-part-of-cycle",
        lambda t: (t.wheel.missing + 1) * 720 / t.wheel.places,
        "The wheel sits on the crankshaft: one turn is 360°.",
    ),
)
PULSES: tuple[Idea[Turning], ...] = (
    Idea(
        "missing-teeth-taken-as-there",
        lambda t: t.wheel.places * t.rpm / 60,
        "The missing teeth give no pulses.",
    ),
    Idea(
        "signal-at-cam-speed",
        lambda t: t.pulses_per_s / 2,
        "The wheel sits on the crankshaft and turns at its full speed.",
    ),
    Idea(
        "signal-per-cycle",
        lambda t: t.pulses_per_s * 2,
        "A cycle takes two turns, but the speed counts turns.",
    ),
    Idea(
        "gap-counted-as-pulse",
        lambda t: (t.wheel.teeth + 1) * t.rpm / 60,
        "The gap gives no pulse of its own.",
    ),
)
ALL = (*STEP, *GAP, *PULSES)


@family(
    "wheel-tooth",
    version=1,
    topic="signals",
    title="Steps, gap and pulses of a tone wheel",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("places", "missing", "rpm"),
    asks="tooth_deg, gap_deg or pulses_per_s",
    key_follows="A step is 360° over the places; the gap is one step more than teeth are missing; "
    "a turn gives as many pulses as there are teeth.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in ALL)),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: a step. Apply: the gap. Diagnose: pulses per second at a speed."""
    wheel = ToneWheel(*a_wheel(sheet, draw))
    if level is Level.RECALL:
        return _step(Turning(wheel))
    if level is Level.APPLY:
        return _gap(Turning(wheel))
    return _pulses(Turning(wheel, 30 * draw.integer(20, 130)))


def _view(wheel: ToneWheel, asked: str, answer: str) -> tone_wheel.ToneWheelView:
    turned = 120.0 if asked == "gap" else 0.0  # clear of the sensor
    return tone_wheel.ToneWheelView(wheel.places, wheel.missing, turned, asked=asked, answer=answer)


def _begins(turning: Turning) -> str:
    return f"The crankshaft carries {wheel_words(turning.wheel)}."


def _step(turning: Turning) -> Question:
    wheel, value = turning.wheel, round(turning.wheel.step_deg, 1)
    return Question(
        prompt=f"{_begins(turning)} How many crank degrees are there from one tooth edge to the "
        f"next, away from the gap? {answer_in('degrees', 1)}",
        givens=wheel_givens(wheel),
        asked=Asked("tooth_deg", "°", 1),
        steps=(
            Step(
                f"{wheel.teeth} teeth and {wheel.missing} missing: {wheel.places} equal places.",
                wheel.places,
            ),
            Step(f"360° / {wheel.places} = {degrees(value)}.", value, "°"),
        ),
        value=value,
        tolerance=0.05,
        wrong=wrong_answers(STEP, turning),
        right_because="A turn divided by all places, those of the missing teeth included.",
        **pictured(tone_wheel, _view(wheel, "step", f"{degrees(value)}")),
    )


def _gap(turning: Turning) -> Question:
    wheel = turning.wheel
    step, value = round(wheel.step_deg, 2), round(wheel.gap_deg, 1)
    return Question(
        prompt=f"{_begins(turning)} How many crank degrees are there from the edge of the last "
        "tooth before the gap to the same edge of the first tooth after it? "
        f"{answer_in('degrees', 1)}",
        givens=wheel_givens(wheel),
        asked=Asked("gap_deg", "°", 1),
        steps=(
            Step(f"One step: 360° / {wheel.places} = {degrees(step)}.", step, "°"),
            Step(
                f"{wheel.missing} missing: {wheel.missing} + 1 = {wheel.missing + 1} steps from "
                "tooth to tooth.",
                wheel.missing + 1,
            ),
            Step(f"{wheel.missing + 1} × {degrees(step)} = {degrees(value)}.", value, "°"),
        ),
        value=value,
        tolerance=0.1,
        wrong=wrong_answers(GAP, turning),
        right_because="One step more than there are missing teeth.",
        **pictured(tone_wheel, _view(wheel, "gap", f"{degrees(value)}")),
        reference="common practice, no source",
    )


def _pulses(turning: Turning) -> Question:
    wheel, value = turning.wheel, round(turning.pulses_per_s, 1)
    turns = round(turning.rpm / 60, 2)
    return Question(
        prompt=f"{_begins(turning)} It turns at {turning.rpm} rpm. A counter on the sensor lead is "
        "to be checked: how many pulses, one per tooth, must it show each second? "
        f"{answer_in('pulses/s', 1)}",
        givens={**wheel_givens(wheel), "rpm": Given(turning.rpm, "rpm")},
        asked=Asked("pulses_per_s", "pulses/s", 1),
        steps=(
            Step(f"Turns per second: {turning.rpm} / 60 = {plain(turns)}.", turns, "turns/s"),
            Step(f"Teeth: {wheel.places} − {wheel.missing} = {wheel.teeth}.", wheel.teeth, "teeth"),
            Step(
                f"{wheel.teeth} × {turning.rpm} / 60 = {plain(value)} pulses per second.",
                value,
                "pulses/s",
            ),
        ),
        value=value,
        tolerance=max(0.2, round(value / 1000, 1)),
        wrong=wrong_answers(PULSES, turning),
        right_because="Teeth that are there, times turns per second.",
        **pictured(tone_wheel, _view(wheel, "teeth", str(wheel.teeth))),
        caution=RUNNING_SIGNALS,
    )
