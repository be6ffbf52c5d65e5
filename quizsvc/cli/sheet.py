"""`quizsvc sheet`: list, show and check engine sheets."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import click

from quizsvc.cli.table import table_lines
from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.computed import Computed, computed_values
from quizsvc.sheets.finding import Finding, Severity
from quizsvc.sheets.loading import find_sheet, shipped_sheets
from quizsvc.sheets.problems import SheetError
from quizsvc.sheets.schema import EngineSheet


@click.group()
def sheet() -> None:
    """List, show and check engine sheets."""


@sheet.command("list")
def list_sheets() -> None:
    """List the engine sheets that come with the program."""
    head = ("sheet", "revision", "title", "cylinders", "drives")
    rows = [
        (
            one.id,
            str(one.revision),
            one.title,
            str(len(one.layout.cylinders)),
            ", ".join(drive.id for drive in one.drives),
        )
        for one in shipped_sheets().values()
    ]
    for line in table_lines(head, rows):
        click.echo(line)


@sheet.command()
@click.argument("name")
def show(name: str) -> None:
    """Show what follows from a sheet, with its cautions. NAME is an id or a TOML file."""
    one = find_sheet(name)
    click.echo(f"{one.title}, revision {one.revision}{'; invented' if one.invented else ''}")
    order = "-".join(map(str, one.layout.firing_order))
    click.echo(f"{one.layout.kind}, {len(one.layout.cylinders)} cylinders, firing order {order}\n")
    _print_computed(computed_values(one))
    click.echo()
    for caution in one.cautions:
        click.echo(f"Caution ({caution.kind}): {caution.text}")


@sheet.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="One JSON object with all findings.")
def check(file: str, *, as_json: bool) -> None:
    """Check a sheet by computation. FILE is a TOML file or a shipped sheet's id.

    Exit code 1 if there is an error, 0 if there are none or only warnings.
    """
    try:
        one = find_sheet(file)
    except SheetError as unreadable:
        _refuse(unreadable, as_json=as_json)
    findings, figures = check_sheet(one), computed_values(one)
    if as_json:
        click.echo(_report_json(one, findings, figures))
    else:
        _print_computed(figures)
        click.echo()
        for finding in findings:
            click.echo(finding)
        click.echo(f"{one.id} revision {one.revision}: {_counted(findings)}")
    sys.exit(1 if any(f.severity is Severity.ERROR for f in findings) else 0)


def _print_computed(figures: Sequence[Computed]) -> None:
    rows = [(f.quantity, f.of, _number(f.value), f.unit, f.words) for f in figures]
    for line in table_lines(("computed", "of", "value", "unit", "beside it"), rows):
        click.echo(line)


def _number(value: float) -> str:
    return str(value) if isinstance(value, int) else f"{value:.2f}"


def _counted(findings: Sequence[Finding]) -> str:
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    return f"{_plural(errors, 'error')}, {_plural(len(findings) - errors, 'warning')}."


def _plural(count: int, noun: str) -> str:
    return f"{count or 'no'} {noun}{'' if count == 1 else 's'}"


def _refuse(unreadable: SheetError, *, as_json: bool) -> None:
    """Print everything that keeps the text from being a sheet, and leave."""
    if as_json:
        problems = [
            _plain(asdict(problem)) | {"severity": "error"} for problem in unreadable.problems
        ]
        click.echo(json.dumps({"findings": problems, "computed": []}, ensure_ascii=False))
    else:
        for problem in unreadable.problems:
            click.echo(f"error: {problem}")
        click.echo(
            f"{unreadable.source}: {_plural(len(unreadable.problems), 'error')}; "
            "nothing was computed."
        )
    sys.exit(1)


def _report_json(one: EngineSheet, findings: Sequence[Finding], figures: Sequence[Computed]) -> str:
    report = {
        "sheet": one.id,
        "revision": one.revision,
        "findings": [_plain(asdict(finding)) for finding in findings],
        "computed": [asdict(figure) for figure in figures],
    }
    return json.dumps(report, ensure_ascii=False)


def _plain(finding: dict[str, Any]) -> dict[str, Any]:
    """Keep the found value if JSON has a form for it, else its words."""
    try:
        json.dumps(finding["value"], allow_nan=False)
    except (TypeError, ValueError):
        return finding | {"value": repr(finding["value"])}
    return finding
