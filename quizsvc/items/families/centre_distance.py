"""Family `centre-distance`: how far apart two sprockets stand for a chain of given length."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.chain_drive import TwoSprockets, a_drive, chain_words, pair_picture
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import centre_distance_pitches, chain_length_pitches

TOLERANCE_MM = 0.2


@dataclass(frozen=True, slots=True)
class Closed:
    """A chain of so many pins over two sprockets."""

    drive: TwoSprockets
    pins: int

    @property
    def strands(self) -> float:
        """Pitches left for the two strands, after half of all teeth."""
        return self.pins - (self.drive.small_teeth + self.drive.large_teeth) / 2

    @property
    def centre_mm(self) -> float:
        small, large = self.drive.small_teeth, self.drive.large_teeth
        return centre_distance_pitches(self.pins, small, large) * self.drive.pitch_mm

    @property
    def spread(self) -> float:
        return ((self.drive.large_teeth - self.drive.small_teeth) / math.tau) ** 2


def _solved(strands: float, spread: float) -> float | None:
    inside = strands**2 - 8 * spread
    return (strands + math.sqrt(inside)) / 4 if inside >= 0 and strands > 0 else None


def _mm(pitches: float | None, closed: Closed) -> float | None:
    return None if pitches is None or pitches <= 0 else pitches * closed.drive.pitch_mm


def _unequal(value: float | None, closed: Closed) -> float | None:
    return value if closed.spread else None


IDEAS: tuple[Idea[Closed], ...] = (
    Idea(
        "length-without-correction",
        lambda c: _unequal(c.strands / 2 * c.drive.pitch_mm, c),
        "With unequal sprockets the strands slant; the centres are nearer than half of both.",
    ),
    Idea(
        "centre-double",
        lambda c: 2 * c.centre_mm,
        "What is left after the teeth are two strands, so it is halved.",
    ),
    Idea(
        "full-teeth-for-half",
        lambda c: _mm(_solved(c.strands * 2 - c.pins, c.spread), c),
        "The chain lies round about half of each sprocket: half of all teeth come off.",
    ),
    Idea(
        "teeth-of-one-sprocket",
        lambda c: _unequal(_mm(_solved(c.pins - c.drive.small_teeth, c.spread), c), c),
        "This takes off the small sprocket twice; it is half of the one and half of the other.",
    ),
    Idea(
        "wrap-forgotten",
        lambda c: c.pins * c.drive.pitch_mm / 2,
        "This is half the chain; what lies on the sprockets has to come off first.",
    ),
    Idea(
        "pitch-as-centimetre",
        lambda c: c.centre_mm / c.drive.pitch_mm * 10,
        "This takes a pitch for a centimetre; multiply pitches by the pitch in mm.",
    ),
)


@family(
    "centre-distance",
    version=1,
    topic="chain",
    title="Centre distance for a chain",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("pitch_mm", "small_teeth", "large_teeth", "length_pitches"),
    asks="centre_distance_mm",
    key_follows="Half of what is left after half of all teeth, less what the slant takes, times "
    "the pitch.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: equal sprockets, no slant. Apply: unequal ones."""
    drive = a_drive(sheet, draw, level)
    length = chain_length_pitches(drive.centre_pitches, drive.small_teeth, drive.large_teeth)
    closed = Closed(drive, 2 * round(length / 2))
    return Question(
        prompt=f"{chain_words(drive)}, {closed.pins} pins in the loop, runs taut on "
        f"{drive.words} without a tensioner. How far apart are their centres? "
        f"{answer_in('mm', 1)}",
        givens={**drive.givens(), "length_pitches": Given(closed.pins, "pitches")},
        asked=Asked("centre_distance_mm", "mm", 1),
        steps=_steps(closed),
        value=round(closed.centre_mm, 1),
        tolerance=TOLERANCE_MM,
        wrong=wrong_answers(IDEAS, closed),
        right_because="What the teeth leave over, halved, less the slant.",
        **pictured(
            pulley_pair,
            pair_picture(drive, asked="centre", centre_mm=round(closed.centre_mm, 1)),
        ),
        reference="Mott, Machine Elements in Mechanical Design: chain length solved for C",
    )


def _steps(closed: Closed) -> tuple[Step, ...]:
    drive, left = closed.drive, closed.strands
    centre = closed.centre_mm / drive.pitch_mm
    half = (drive.small_teeth + drive.large_teeth) / 2
    said = [
        Step(
            f"Half of all teeth: ({drive.small_teeth} + {drive.large_teeth}) / 2 = {plain(half)}; "
            f"left for the strands: {closed.pins} − {plain(half)} = {plain(left)} pitches.",
            left,
            "pitches",
        )
    ]
    if closed.spread:
        spread = round(8 * closed.spread, 2)
        said.append(
            Step(
                "Slant: 8 × ((N − n) / 2π)² = "
                f"{plain(spread)}; C = ({plain(left)} + √({plain(left)}² − {plain(spread)})) / 4 = "
                f"{plain(round(centre, 3))} pitches.",
                round(centre, 3),
                "pitches",
            )
        )
    else:
        said.append(
            Step(
                f"Equal sprockets, no slant: {plain(left)} / 2 = {plain(centre)} pitches.",
                centre,
                "pitches",
            )
        )
    mm = round(closed.centre_mm, 1)
    said.append(
        Step(f"In mm: {plain(round(centre, 3))} × {plain(drive.pitch_mm)} = {plain(mm)}.", mm, "mm")
    )
    return tuple(said)
