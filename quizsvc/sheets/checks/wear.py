"""Wear limits: the tensioner must follow the chain to its limit, its groove show before."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.errors import InputError
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import Tensioner
from quizsvc.sheets.sound import Routed, Sound
from quizsvc.sheets.wear_state import plunger_at_mm
from quizsvc.timing.wear import FIXED_CENTRES_LIMIT_PERCENT, elongation_limit_percent


def check_wear(sound: Sound) -> Iterator[Finding]:
    for routed in sound.routed:
        yield from _limit(routed)
        tensioner = routed.drive.tensioner
        if tensioner is None or routed.drive.kind == "belt":
            continue  # a belt is renewed by age and mileage; it does not grow like a chain
        yield from _plunger(sound, routed, tensioner)


def _limit(routed: Routed) -> Iterator[Finding]:
    drive = routed.drive
    if drive.kind == "belt":
        return
    most = elongation_limit_percent(max(wheel.teeth or 3 for wheel in drive.wheels))
    if drive.tensioner is None:
        most = min(most, FIXED_CENTRES_LIMIT_PERCENT)
    if drive.elongation_limit_percent > most:
        yield warning(
            (*routed.place, "elongation_limit_percent"),
            drive.elongation_limit_percent,
            f"common practice renews such a chain at {most:g} %.",
            "Check the limit.",
        )


def _plunger(sound: Sound, routed: Routed, tensioner: Tensioner) -> Iterator[Finding]:
    new, groove = tensioner.extension_new_mm, tensioner.groove_at_mm
    longest = tensioner.longest_mm
    if new is None or groove is None or longest is None:
        yield error(
            (*routed.place, "tensioner"),
            tensioner.kind,
            "a chain's tensioner states how far its plunger stands out.",
            "Give extension_new_mm, groove_at_mm and longest_mm.",
        )
    elif new < groove <= longest:
        yield from _follows(sound, routed, tensioner, groove)
    else:
        yield _out_of_order(routed, tensioner)


def _out_of_order(routed: Routed, tensioner: Tensioner) -> Finding:
    return error(
        (*routed.place, "tensioner", "groove_at_mm"),
        tensioner.groove_at_mm,
        f"the groove must show between the new extension of {tensioner.extension_new_mm:g} mm "
        f"and the longest of {tensioner.longest_mm:g} mm.",
        "Check the three extensions.",
    )


def _follows(
    sound: Sound, routed: Routed, tensioner: Tensioner, groove_mm: float
) -> Iterator[Finding]:
    limit = routed.drive.elongation_limit_percent
    try:
        extension = plunger_at_mm(sound.sheet, routed.drive.id, limit)
    except InputError:
        yield warning(
            (*routed.place, "tensioner", "longest_mm"),
            tensioner.longest_mm,
            f"the tensioner reaches its end before the chain has grown by {limit:g} %.",
            "Check its longest extension and the wear limit.",
        )
        return
    if extension < groove_mm:
        yield warning(
            (*routed.place, "tensioner", "groove_at_mm"),
            tensioner.groove_at_mm,
            f"at the wear limit of {limit:g} % the plunger stands {extension:.1f} mm out, so the "
            "groove does not show yet.",
            "Check where the groove shows and the wear limit.",
        )
