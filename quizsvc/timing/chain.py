"""Roller and bush chains on two sprockets: pitch circle, length, centre distance, wrap, ratio."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from quizsvc.timing.quantity import number, refuse, sequence, whole

LEAST_TEETH = 3  # fewer make no polygon


class ChainSize(NamedTuple):
    """Pitch, roller diameter and width between the inner plates."""

    pitch_mm: float
    roller_mm: float
    width_mm: float


# Source: ISO 606 (DIN 8187) tables.
CHAIN_SIZES = {
    "05B": ChainSize(8.0, 5.0, 3.0),
    "06B": ChainSize(9.525, 6.35, 5.72),
    "08B": ChainSize(12.7, 8.51, 7.75),
}


def pitch_diameter_mm(pitch_mm: float, teeth: int) -> float:
    """Diameter of the circle through the pin centres: p / sin(π/N).

    Np/π would be the circle on which the *arc* is one pitch: the chord is.
    Source: Mott, Machine Elements in Mechanical Design, 4th ed.

    >>> round(pitch_diameter_mm(10, 6), 6)
    20.0
    """
    number("pitch_mm", pitch_mm, above=0)
    return pitch_mm / math.sin(math.pi / whole("teeth", teeth, at_least=LEAST_TEETH))


def chain_length_pitches(centre_pitches: float, small_teeth: int, large_teeth: int) -> float:
    """Length of a chain over two sprockets: 2C + (N+n)/2 + (N−n)²/(4π²C), all in pitches.

    The formula of the trade, short by less than 0.1 pitch against the exact open path when C
    is above 30 pitches. Source: Mott, Machine Elements in Mechanical Design, 4th ed., Ex. 7-3.

    >>> chain_length_pitches(20, 18, 18)
    58.0
    """
    small, large = _teeth(small_teeth, large_teeth)
    centre = number("centre_pitches", centre_pitches, above=0)
    _apart("centre_pitches", centre, pitch_diameter_mm(1, small), pitch_diameter_mm(1, large))
    return 2 * centre + (small + large) / 2 + ((large - small) / (2 * math.pi)) ** 2 / centre


def centre_distance_pitches(length_pitches: float, small_teeth: int, large_teeth: int) -> float:
    """Centre distance for a chain of this length: chain_length_pitches turned round.

    Source: Mott, Machine Elements in Mechanical Design, 4th ed., Ex. 7-3.

    >>> centre_distance_pitches(58, 18, 18)
    20.0
    """
    small, large = _teeth(small_teeth, large_teeth)
    strands = number("length_pitches", length_pitches, above=0) - (small + large) / 2
    inside = strands**2 - 8 * ((large - small) / (2 * math.pi)) ** 2
    centre = (strands + math.sqrt(inside)) / 4 if strands > 0 and inside >= 0 else 0.0
    radii = (pitch_diameter_mm(1, small) + pitch_diameter_mm(1, large)) / 2
    if centre <= radii:
        refuse("length_pitches", length_pitches,
               f"is too short to reach round sprockets of {small} and {large} teeth.")  # fmt: skip
    return centre


def wrap_angles_deg(
    pitch_mm: float, small_teeth: int, large_teeth: int, centre_mm: float
) -> tuple[float, float]:
    """Wrap of an open chain on each of two sprockets, in the order given; together 360.

    >>> wrap_angles_deg(10, 20, 20, 200)
    (180.0, 180.0)
    """
    small = pitch_diameter_mm(pitch_mm, whole("small_teeth", small_teeth, at_least=LEAST_TEETH))
    large = pitch_diameter_mm(pitch_mm, whole("large_teeth", large_teeth, at_least=LEAST_TEETH))
    number("centre_mm", centre_mm, above=0)
    _apart("centre_mm", centre_mm, small, large)
    lean = 2 * math.degrees(math.asin((large - small) / 2 / centre_mm))
    return 180 - lean, 180 + lean


def speed_ripple(teeth: int) -> float:
    """Fraction by which chain speed falls within each pitch (polygon effect): 1 − cos(π/N).

    Source: machine-element texts.

    >>> round(100 * speed_ripple(16), 2)
    1.92
    """
    return 1 - math.cos(math.pi / whole("teeth", teeth, at_least=LEAST_TEETH))


def drive_ratio(stages: Iterable[tuple[int, int]]) -> float:
    """Turns of the first shaft for one turn of the last, from (driving, driven) teeth per stage.

    A primary and a secondary drive multiply; an idler between them changes nothing.

    >>> drive_ratio([(18, 36)]), drive_ratio([(20, 30), (24, 32)])
    (2.0, 2.0)
    """
    return float(exact_drive_ratio(stages))


def exact_drive_ratio(stages: Iterable[tuple[int, int]]) -> Fraction:
    """As drive_ratio, as an exact fraction: a cam drive must give 2 and nothing near it.

    >>> exact_drive_ratio([(19, 36)])
    Fraction(36, 19)
    """
    ratio = Fraction(1)
    for stage in sequence("stages", stages):
        driving, driven = _stage(stage)
        ratio *= Fraction(driven, driving)
    return ratio


def _stage(stage: object) -> tuple[int, int]:
    pair = sequence("stages", stage)
    if len(pair) != 2:
        refuse("stages", stage, "must be a pair of teeth: driving, driven.")
    driving, driven = (whole("stages", teeth, at_least=LEAST_TEETH) for teeth in pair)
    return driving, driven


def _teeth(small_teeth: int, large_teeth: int) -> tuple[int, int]:
    return (
        whole("small_teeth", small_teeth, at_least=LEAST_TEETH),
        whole("large_teeth", large_teeth, at_least=LEAST_TEETH),
    )


def _apart(name: str, centre: float, diameter: float, other_diameter: float) -> None:
    least = (diameter + other_diameter) / 2
    if centre <= least:
        refuse(name, centre, f"is too small: the sprockets touch below {least:.4g}.",
               "Set the centres further apart.")  # fmt: skip
