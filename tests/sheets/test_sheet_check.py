"""Findings as such, whatever they are about."""

import pytest
from sheet_findings import ERROR, only
from valid_sheets import REMOVED, edited

from quizsvc.sheets.check import check_sheet, errors_of


def test_every_finding_says_where_what_and_what_to_do():
    broken = edited(
        drives__0__pins=117,
        safe_position__atdc_deg=10.0,
        cautions=[],
        drives__0__wheels__2__teeth=30,
        piston__rod_mm=90.0,
    )

    findings = check_sheet(broken)

    assert len(findings) > 8
    assert all(f.field and f.message.endswith(".") and f.remedy for f in findings)
    severities = [f.severity for f in findings]
    assert severities == sorted(severities, key=lambda s: s is not ERROR)


def test_what_cannot_be_computed_is_said_once_and_not_again_by_what_builds_on_it():
    assert only(edited(layout__firing_order=[1, 4, 3, 2])).field == "layout.firing_order"


def test_a_sheet_without_drives_is_still_checked():
    sheet = edited(drives=[], sensors=[])

    assert {f.field for f in errors_of(sheet)} == {"shafts[2].id", "shafts[3].id"}


def test_removing_a_value_is_seen_by_the_schema_not_by_the_check():
    with pytest.raises(ValueError, match="rod_mm"):
        edited(piston__rod_mm=REMOVED)
