"""Chain wear: elongation, its limit, and the retard of the cam that follows from it."""

from __future__ import annotations

import math

from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.quantity import number, whole

LIMIT_PERCENT = 3.0  # common practice of chain makers
FIXED_CENTRES_LIMIT_PERCENT = 1.5  # no tensioner takes up the growth; common practice
TEETH_FOR_LIMIT = 67  # above it the worn chain rides over the teeth earlier; common practice


def elongation_percent(measured_mm: float, pitches: int, pitch_mm: float) -> float:
    """Elongation of a stretch of chain: measured over nominal length, less one, in percent.

    Below zero means that the count or the pitch is wrong.

    >>> round(elongation_percent(202, 20, 10), 6)
    1.0
    """
    nominal = whole("pitches", pitches, at_least=1) * number("pitch_mm", pitch_mm, above=0)
    return 100 * (number("measured_mm", measured_mm, above=0) / nominal - 1)


def elongation_limit_percent(largest_teeth: int) -> float:
    """Elongation at which a chain with a tensioner is renewed: 3 %, or 200/N above 67 teeth.

    On fixed centres it is FIXED_CENTRES_LIMIT_PERCENT. The maker's limit comes first.
    Source: common practice of chain makers.

    >>> elongation_limit_percent(36), elongation_limit_percent(100)
    (3.0, 2.0)
    """
    teeth = whole("largest_teeth", largest_teeth, at_least=3)
    return 200 / teeth if teeth > TEETH_FOR_LIMIT else LIMIT_PERCENT


def loop_growth_mm(pins: int, pitch_mm: float, elongation_percent: float) -> float:
    """Growth of a whole loop, which the tensioner has to take up.

    >>> loop_growth_mm(120, 8, 0.5)
    4.8
    """
    nominal = whole("pins", pins, at_least=2) * number("pitch_mm", pitch_mm, above=0)
    return nominal * number("elongation_percent", elongation_percent) / 100


def wear_retard_deg(
    strand_mm: float, elongation_percent: float, pitch_mm: float, cam_teeth: int
) -> float:
    """Crank degrees by which a half-speed cam lags when its tight strand has grown.

    2·ΔL·360/(π D_cam), first order: the growth on the wheels themselves is left out (the links
    there still sit tooth by tooth). Positive is retarded: a longer tight strand lets the cam
    mark come later.

    >>> round(wear_retard_deg(330, 0.5, 8, 36), 2)
    4.12
    """
    whole("cam_teeth", cam_teeth, at_least=3)
    growth = number("strand_mm", strand_mm, above=0) * number(
        "elongation_percent", elongation_percent, above=-100
    ) / 100  # fmt: skip
    return 2 * growth * 360 / (math.pi * pitch_diameter_mm(pitch_mm, cam_teeth))


def elongation_for_retard_percent(
    strand_mm: float, retard_crank_deg: float, pitch_mm: float, cam_teeth: int
) -> float:
    """Elongation at which the cam lags by this much: wear_retard_deg turned round.

    >>> round(elongation_for_retard_percent(330, 4.12, 8, 36), 2)
    0.5
    """
    per_percent = wear_retard_deg(strand_mm, 1.0, pitch_mm, cam_teeth)
    return number("retard_crank_deg", retard_crank_deg) / per_percent
