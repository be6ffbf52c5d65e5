"""Family `pitch-diameter`: the circle through the pin centres of a sprocket."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import single_sprocket
from quizsvc.items.assemble import Question
from quizsvc.items.chain_drive import a_pitch, sheet_teeth
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, claim, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import pitch_diameter_mm

TOLERANCE_MM = 0.03
LEAST_TEETH, MOST_TEETH = 15, 50  # with more, arc and chord differ by less than one can measure


@dataclass(frozen=True, slots=True)
class Sprocket:
    pitch_mm: float
    teeth: int

    @property
    def diameter_mm(self) -> float:
        return pitch_diameter_mm(self.pitch_mm, self.teeth)


IDEAS: tuple[Idea[Sprocket], ...] = (
    Idea(
        "pitch-as-arc",
        lambda s: s.teeth * s.pitch_mm / math.pi,
        "This takes the pitch for an arc; a link is straight, so it is a chord of the circle.",
    ),
    Idea(
        "radius-for-diameter",
        lambda s: s.diameter_mm / 2,
        "This is the pitch radius; the diameter is twice as much.",
    ),
    Idea(
        "whole-tooth-angle",
        lambda s: s.pitch_mm / math.sin(2 * math.pi / s.teeth),
        "Half a pitch stands over half a tooth angle: the sine is of 180°/N, not of 360°/N.",
    ),
    Idea(
        "tangent-for-sine",
        lambda s: s.pitch_mm / math.tan(math.pi / s.teeth),
        "The pins lie on the circle, so the pitch is a chord and takes the sine.",
    ),
    Idea(
        "teeth-one-off",
        lambda s: pitch_diameter_mm(s.pitch_mm, s.teeth + 1),
        "This is a sprocket of one tooth more.",
    ),
)


@family(
    "pitch-diameter",
    version=1,
    topic="chain",
    title="Pitch diameter of a sprocket",
    levels=(Level.RECALL, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("pitch_mm", "teeth"),
    asks="pitch_diameter_mm",
    key_follows="Pitch divided by the sine of 180° over the teeth.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: compute it. Diagnose: judge what somebody has worked out."""
    own = [teeth for teeth in sheet_teeth(sheet) if teeth <= MOST_TEETH] or [18]
    near = draw.choice(own) + draw.integer(-3, 6)
    sprocket = Sprocket(a_pitch(sheet, draw), min(MOST_TEETH, max(LEAST_TEETH, near)))
    asked = Asked("pitch_diameter_mm", "mm", 2)
    value = round(sprocket.diameter_mm, 2)
    wrong = wrong_answers(IDEAS, sprocket)
    steps, story, keep = _steps(sprocket), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, asked, TOLERANCE_MM)
        story, keep, steps = f" {said.sentence}", said.keep, (*steps, said.step)
    return Question(
        prompt=f"A roller chain has {plain(sprocket.pitch_mm)} mm pitch; a sprocket for it has "
        f"{sprocket.teeth} teeth.{story} What is the sprocket's pitch diameter, on which the pins "
        f"lie? {answer_in('mm', 2)}",
        givens={
            "pitch_mm": Given(sprocket.pitch_mm, "mm"),
            "teeth": Given(sprocket.teeth, "teeth"),
        },
        asked=asked,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_MM,
        wrong=wrong,
        keep=keep,
        right_because="The pitch is the chord over one tooth angle.",
        **pictured(
            single_sprocket,
            single_sprocket.SingleSprocket(
                "chain", sprocket.teeth, asked="pitch diameter", pitch_mm=sprocket.pitch_mm
            ),
        ),
        reference="Mott, Machine Elements in Mechanical Design: D = p / sin(180°/N)",
    )


def _steps(sprocket: Sprocket) -> tuple[Step, ...]:
    half = round(180 / sprocket.teeth, 4)
    sine = round(math.sin(math.pi / sprocket.teeth), 5)
    value = round(sprocket.diameter_mm, 2)
    return (
        Step(f"Half the angle of a tooth: 180° / {sprocket.teeth} = {plain(half)}°.", half, "°"),
        Step(f"Its sine: {plain(sine)}.", sine),
        Step(f"D = {plain(sprocket.pitch_mm)} / {plain(sine)} = {plain(value)} mm.", value, "mm"),
    )
