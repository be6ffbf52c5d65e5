"""What the check finds on a sheet that is broken in just one way.

Shipped sheets have no findings at all (test_shipped_sheets.py), so whatever is found comes from
the one edit.
"""

from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.finding import Finding, Severity
from quizsvc.sheets.schema import EngineSheet

ERROR, WARNING = Severity.ERROR, Severity.WARNING


def found(sheet: EngineSheet, field: str) -> Finding:
    """Return the one finding on a field."""
    findings = [finding for finding in check_sheet(sheet) if finding.field == field]
    assert len(findings) == 1, [str(finding) for finding in check_sheet(sheet)]
    return findings[0]


def only(sheet: EngineSheet) -> Finding:
    """Return the finding, there being no other."""
    findings = check_sheet(sheet)
    assert len(findings) == 1, [str(finding) for finding in findings]
    return findings[0]
