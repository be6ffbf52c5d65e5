"""Family `pins-between`: pins from mark to mark over two equal cam sprockets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from quizsvc.figures import sprocket_pair
from quizsvc.figures.sprocket_pair import Sprocket, SprocketPair
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.families.pins_apart import CONVENTION
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import claim, counted, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.marks import MarkCount, pins_between_marks
from quizsvc.timing.path import DrivePath, PathWheel

ASKED = Asked("pins", "", 0)
_PITCHES_MM = (8.0, 9.525)  # 05B and 06B, ISO 606
_TEETH = (20, 24, 30, 32, 36)  # tooth angles that can be written out


@dataclass(frozen=True, slots=True)
class Strand:
    """Two equal sprockets side by side, the upper strand counted from the left mark.

    ``left_teeth`` and ``right_teeth`` are the teeth between a mark and the top of its sprocket;
    positive means that the mark stands on the outer side.
    """

    pitch_mm: float
    teeth: int
    span: int  # centre distance in pitches
    left_teeth: int
    right_teeth: int

    @property
    def centre_mm(self) -> float:
        return self.span * self.pitch_mm

    @property
    def left_deg(self) -> float:
        return (-self.left_teeth * 360 / self.teeth) % 360

    @property
    def right_deg(self) -> float:
        return (self.right_teeth * 360 / self.teeth) % 360

    @property
    def pins(self) -> int:
        return _pins(self)

    @property
    def whole_chain(self) -> int:
        return 2 * self.span + self.teeth


@lru_cache(2048)
def _pins(strand: Strand) -> int:
    """Count along the path of the core, to the pin that seats at the mark."""
    path = _path(strand.pitch_mm, strand.teeth, strand.span)
    pitches = pins_between_marks(path, strand.pitch_mm, 0, strand.left_deg, 1, strand.right_deg)
    return MarkCount(round(pitches)).pins


@lru_cache(256)
def _path(pitch_mm: float, teeth: int, span: int) -> DrivePath:
    radius = pitch_diameter_mm(pitch_mm, teeth) / 2
    return DrivePath((PathWheel(0, 0, radius), PathWheel(span * pitch_mm, 0, radius)))


def _chord_pitches(strand: Strand) -> float:
    """Pitches if the chain went straight from mark to top and from top to mark."""
    radius = pitch_diameter_mm(1, strand.teeth) / 2
    chords = sum(
        2 * radius * math.sin(math.radians(teeth * 180 / strand.teeth))
        for teeth in (strand.left_teeth, strand.right_teeth)
    )
    return float(round(strand.span + chords))


IDEAS: tuple[Idea[Strand], ...] = (
    Idea("first-pin-counted", lambda s: s.pins + 1.0, "That counts the pin at the first mark."),
    Idea(
        "last-pin-left-out", lambda s: s.pins - 1.0, "That leaves out the pin at the second mark."
    ),
    Idea(
        "free-strand-only",
        lambda s: float(s.span),
        "That is only the free strand between the sprockets.",
    ),
    Idea(
        "one-arc-only",
        lambda s: float(s.span + s.left_teeth),
        "That stops where the chain meets the second sprocket.",
    ),
    Idea(
        "other-way-round",
        lambda s: float(s.whole_chain - s.pins),
        "That is the count along the lower strand.",
    ),
    Idea(
        "half-sprockets-always",
        lambda s: float(s.span + s.teeth // 2),
        "That takes a quarter of each sprocket, wherever the marks are.",
    ),
    Idea("arc-cut-short", _chord_pitches, "That goes straight across where the chain goes round."),
)


@family(
    "pins-between",
    version=1,
    topic="marks",
    title="Pins between two marks",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("centre_distance_mm", "pitch_mm", "teeth", "from_mark_deg", "to_mark_deg"),
    asks="pins",
    key_follows="Teeth from the first mark to the strand, pitches along it, teeth from there to "
    "the second mark.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.CHAIN_WORK,
    drive="chain",
)
def ask(_sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    strand = _drawn(draw, level)
    value = float(strand.pins)
    state = SprocketPair(
        Sprocket("intake", strand.teeth, strand.left_deg),
        Sprocket("exhaust", strand.teeth, strand.right_deg),
        strand.pins,
        counted="slack",
        arrangement="beside",
        strands_named=False,
    )
    wrong = wrong_answers(IDEAS, strand)
    steps, story, keep = _steps(strand), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, 0.5)
        story, keep = f"The bank runs rough and its chain is checked. {said.sentence} ", said.keep
        steps += (said.step,)
    left, right = _places(strand)
    return Question(
        prompt=(
            f"Two equal cam sprockets of {strand.teeth} teeth stand side by side, "
            f"{plain(strand.centre_mm)} mm between centres, under a chain of "
            f"{plain(strand.pitch_mm)} mm pitch that turns clockwise seen from the chain end. "
            f"Clockwise from straight up, the mark of the left (intake) sprocket stands at {left}, "
            f"that of the right (exhaust) sprocket at {right}. {story}How many pins lie from the "
            f"intake mark along the upper strand to the exhaust mark ({CONVENTION})? Answer in "
            "pins, to the nearest whole number."
        ),
        givens={
            "centre_distance_mm": Given(strand.centre_mm, "mm"),
            "pitch_mm": Given(strand.pitch_mm, "mm"),
            "teeth": Given(strand.teeth),
            "from_mark_deg": Given(strand.left_deg, "°"),
            "to_mark_deg": Given(strand.right_deg, "°"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        wrong=wrong,
        keep=keep,
        right_because="Arc, strand and arc, each in pitches.",
        reference="pitches along the path; common practice, no source",
        **pictured(sprocket_pair, state),
    )


def _drawn(draw: Draw, level: Level) -> Strand:
    """Recall has both marks alike outwards; else they stand as they come."""
    teeth = draw.choice(_TEETH)
    span = round(teeth / math.pi) + draw.integer(3, 9)
    most = teeth // 4
    left, right = draw.integer(1, most), draw.integer(1, most)
    if level is Level.RECALL:
        right = left
    return Strand(draw.choice(_PITCHES_MM), teeth, span, left, right)


def _places(strand: Strand) -> tuple[str, str]:
    return degrees(strand.left_deg), degrees(strand.right_deg)


def _pitches(count: int) -> str:
    return counted(count, "pitch", "pitches")


def _steps(strand: Strand) -> tuple[Step, ...]:
    tooth = 360 / strand.teeth
    left, right = strand.left_teeth, strand.right_teeth
    return (
        Step("Follow the chain: up the first sprocket, along the strand, down the second."),
        Step(f"One tooth is 360° ÷ {strand.teeth} = {degrees(tooth)}.", tooth, "°"),
        Step(
            f"From the intake mark to the top: {degrees(left * tooth)} ÷ "
            f"{degrees(tooth)} = {_pitches(left)}.",
            left,
        ),
        Step(
            f"Along the strand: {plain(strand.centre_mm)} ÷ {plain(strand.pitch_mm)} = "
            f"{_pitches(strand.span)}.",
            strand.span,
        ),
        Step(
            f"From the top of the exhaust sprocket to its mark: {degrees(right * tooth)} "
            f"= {_pitches(right)}.",
            right,
        ),
        Step(f"{left} + {strand.span} + {right} = {strand.pins} pins.", strand.pins),
    )
