"""The check of a sheet by computation: all that cannot be right, and all that is unusual."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from quizsvc.sheets.checks.accessories import check_accessories
from quizsvc.sheets.checks.cautions import check_cautions
from quizsvc.sheets.checks.cylinders import check_cylinders
from quizsvc.sheets.checks.lengths import check_lengths
from quizsvc.sheets.checks.marks import check_marks
from quizsvc.sheets.checks.paths import check_paths
from quizsvc.sheets.checks.ratios import check_ratios
from quizsvc.sheets.checks.safe_position import check_safe_position
from quizsvc.sheets.checks.valves import check_valves
from quizsvc.sheets.checks.wear import check_wear
from quizsvc.sheets.finding import Finding, Severity
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.sound import Sound, sound_parts

CHECKS: tuple[Callable[[Sound], Iterator[Finding]], ...] = (
    check_cylinders,
    check_paths,
    check_lengths,
    check_ratios,
    check_marks,
    check_safe_position,
    check_valves,
    check_wear,
    check_accessories,
    check_cautions,
)


def check_sheet(sheet: EngineSheet) -> tuple[Finding, ...]:
    """Return errors first, then warnings; empty when nothing is wrong."""
    sound = sound_parts(sheet)
    found = [finding for check in CHECKS for finding in check(sound)]
    return tuple(sorted(found, key=lambda finding: finding.severity is not Severity.ERROR))


def errors_of(sheet: EngineSheet) -> tuple[Finding, ...]:
    """Return only what must be put right before questions are drawn from the sheet."""
    return tuple(f for f in check_sheet(sheet) if f.severity is Severity.ERROR)
