"""Family `chain-length`: pitches of chain round two sprockets."""

from __future__ import annotations

import math

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.chain_drive import TwoSprockets, a_drive, chain_words, pair_picture
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import chain_length_pitches

TOLERANCE = 0.05
NEAR = 0.1  # a length so near to an even count leaves open which to take


def length_pitches(drive: TwoSprockets) -> float:
    return chain_length_pitches(drive.centre_pitches, drive.small_teeth, drive.large_teeth)


def _teeth(drive: TwoSprockets) -> int:
    return drive.small_teeth + drive.large_teeth


def _correction(drive: TwoSprockets) -> float:
    return ((drive.large_teeth - drive.small_teeth) / math.tau) ** 2 / drive.centre_pitches


def _unequal(value: float, drive: TwoSprockets) -> float | None:
    return value if drive.small_teeth != drive.large_teeth else None


IDEAS: tuple[Idea[TwoSprockets], ...] = (
    Idea(
        "length-without-correction",
        lambda d: _unequal(2 * d.centre_pitches + _teeth(d) / 2, d),
        "With unequal sprockets the strands slant and are longer than the centre distance.",
    ),
    Idea(
        "full-teeth-for-half",
        lambda d: 2 * d.centre_pitches + _teeth(d) + _correction(d),
        "The chain lies round about half of each sprocket, so half the teeth count.",
    ),
    Idea(
        "one-strand-only",
        lambda d: d.centre_pitches + _teeth(d) / 2 + _correction(d),
        "The chain runs there and back: the centre distance counts twice.",
    ),
    Idea(
        "teeth-of-one-sprocket",
        lambda d: 2 * d.centre_pitches + d.small_teeth + _correction(d),
        "This takes the small sprocket twice; it is half of the one and half of the other.",
    ),
    Idea(
        "correction-without-pi",
        lambda d: _unequal(
            2 * d.centre_pitches + _teeth(d) / 2 + _correction(d) * (2 * math.pi) ** 2, d
        ),
        "The correction is divided by 4π² as well; the radii differ by (N − n)/2π pitches.",
    ),
    Idea(
        "tooth-count-for-wrap",
        lambda d: 2 * d.centre_pitches + _teeth(d) / math.pi,
        "Half the teeth lie on each sprocket; dividing the sum by π gives the diameters.",
    ),
)


@family(
    "chain-length",
    version=1,
    topic="chain",
    title="Chain length on two sprockets",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("pitch_mm", "small_teeth", "large_teeth", "centre_distance_mm"),
    asks="pitches",
    key_follows="Twice the centre distance in pitches, half of all teeth, and the correction "
    "(N − n)²/(4π²C).",
    misconceptions=(
        *(idea.misconception for idea in IDEAS),
        "length-rounded-down",
        "odd-count-taken",
    ),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: equal sprockets. Apply: unequal. Diagnose: which even number of pins to order."""
    drive = a_drive(sheet, draw, level)
    length = length_pitches(drive)
    said = (
        f"{chain_words(drive)} runs on {drive.words}, centre distance {plain(drive.centre_mm)} mm."
    )
    if level is Level.DIAGNOSE:
        return _to_order(drive, said, choose=kind is Kind.ONE_CHOICE)
    return Question(
        prompt=f"{said} How many pitches long is it by the usual formula? "
        f"{answer_in('pitches', 2)}",
        givens=_givens(drive),
        asked=Asked("pitches", "pitches", 2),
        steps=_steps(drive),
        value=round(length, 2),
        tolerance=TOLERANCE,
        wrong=wrong_answers(IDEAS, drive),
        right_because="Two strands, half of all teeth, and what the slant adds.",
        **pictured(
            pulley_pair,
            pair_picture(drive),
            pair_picture(drive, note=f"Chain: {plain(round(length, 2))} pitches."),
        ),
        reference=_REFERENCE,
    )


_REFERENCE = "Mott, Machine Elements in Mechanical Design: L = 2C + (N+n)/2 + (N−n)²/(4π²C)"


def _even_up(length: float) -> int:
    return 2 * math.ceil(length / 2)


PINS: tuple[Idea[TwoSprockets], ...] = (
    *(
        Idea(
            idea.misconception,
            lambda d, idea=idea: _pins_of(idea, d),  # type: ignore[misc]
            idea.because,
        )
        for idea in IDEAS
    ),
    Idea(
        "length-rounded-down",
        lambda d: _even_up(length_pitches(d)) - 2,
        "A chain shorter than its path cannot be closed.",
    ),
    Idea(
        "odd-count-taken",
        lambda d: math.ceil(length_pitches(d)) | 1,
        "Inner and outer links take turns, so a chain without an offset link has an even count.",
    ),
)


def _pins_of(idea: Idea[TwoSprockets], drive: TwoSprockets) -> int | None:
    length = idea.answer(drive)
    return _even_up(length) if isinstance(length, float) else None


def _to_order(drive: TwoSprockets, said: str, *, choose: bool) -> Question:
    length = length_pitches(drive)
    pins = _even_up(length)
    if min(length % 2, 2 - length % 2) < NEAR:
        raise Redraw
    return Question(
        prompt=f"{said} A tensioner takes up what is left over. Which is the shortest endless "
        "chain that fits, with an even number of pins and no offset link? Give its pins.",
        givens=_givens(drive),
        asked=Asked("pins", "pins"),
        steps=(*_steps(drive), _to_even(length, pins)),
        value=pins,
        right=((pins, _pins_words(pins)),) if choose else (),
        wrong=wrong_answers(PINS, drive, _pins_words),
        right_because="The next even number above the computed length.",
        **pictured(
            pulley_pair,
            pair_picture(drive),
            pair_picture(drive, note=f"{plain(round(length, 2))} pitches, so {pins} pins."),
        ),
        reference=_REFERENCE,
    )


def _pins_words(pins: object) -> str:
    return f"{pins} pins"


def _to_even(length: float, pins: int) -> Step:
    return Step(
        f"The next even number above {plain(round(length, 2))} is {pins}; "
        f"{pins - 2} would be too short.",
        pins,
        "pins",
    )


def _givens(drive: TwoSprockets) -> dict[str, Given]:
    return {**drive.givens(), "centre_distance_mm": Given(drive.centre_mm, "mm")}


def _steps(drive: TwoSprockets) -> tuple[Step, ...]:
    centre, half = round(drive.centre_pitches, 3), _teeth(drive) / 2
    slant, length = round(_correction(drive), 3), round(length_pitches(drive), 2)
    slanted = Step(
        f"Slant: ({drive.large_teeth} − {drive.small_teeth})² / (4π² × {plain(centre)}) = "
        f"{plain(slant)}.",
        slant,
        "pitches",
    )
    level = Step("Equal sprockets, so the strands do not slant: nothing is added.", 0, "pitches")
    return (
        Step(
            f"Centre distance: {plain(drive.centre_mm)} / {plain(drive.pitch_mm)} = "
            f"{plain(centre)} pitches; two strands: {plain(round(2 * centre, 3))}.",
            centre,
            "pitches",
        ),
        Step(
            f"Half of all teeth: ({drive.small_teeth} + {drive.large_teeth}) / 2 = {plain(half)}.",
            half,
            "pitches",
        ),
        slanted if slant else level,
        Step(f"Together {plain(length)} pitches.", length, "pitches"),
    )
