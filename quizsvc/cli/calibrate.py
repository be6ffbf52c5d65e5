"""`quizsvc calibrate`: refit items and the competence filter on the log of this installation."""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import click

from quizsvc.config import settings_from
from quizsvc.services.calibrating.recalibrate import Recalibrated, recalibrate
from quizsvc.services.house import House
from quizsvc.services.studies_due import study_due


@click.command()
def calibrate() -> None:
    """Refit item parameters and the competence filter on the answers given here.

    A run that was stopped goes on where it was when the command is given again. What foretells
    the answers of people held out worse than before is not adopted.
    """
    house = House.open(settings_from())
    try:
        found = recalibrate(house, _now, _progress)
        studied = study_due(house, now=_now(), least=1)
    finally:
        house.close()
    for line in told(found):
        click.echo(line)
    click.echo(f"Items studied anew: {studied}.")


def told(found: Recalibrated) -> list[str]:
    """Return what a run found, in words."""
    begun = "Went on with the run that was begun. " if found.resumed else ""
    verdict = (
        "Adopted: it foretells better."
        if found.adopted
        else "Not adopted: what is in use foretells no worse. Nothing was changed."
    )
    changed = found.settings
    return [
        f"{begun}{found.answers} answers of {found.people} people.",
        (
            f"Items: {found.items} calibrated in {found.rounds} rounds"
            f"{'' if found.settled else ' (not settled)'}; {found.items_left} have too few answers."
        ),
        (
            "Log-loss on people held out (a coin gives 0.693): "
            f"before {found.loss_before:.4f}, with the new items {found.loss_items:.4f}, "
            f"with new items and constants {found.loss_after:.4f}."
        ),
        (
            f"Filter: variance general {changed.general_variance}, topic {changed.topic_variance}; "
            f"learning {changed.learning}; fading in {changed.fade_days:.0f} days; drift "
            f"{changed.topic_drift}."
        ),
        verdict,
    ]


def _now() -> datetime:
    return datetime.now(UTC)


def _progress(stage: str, done: int, total: int) -> None:
    if sys.stderr.isatty():
        of = f" of {total}" if total and total != done else ""
        click.echo(f"\r\033[K{stage}: {done}{of}", nl=False, err=True)
        if total and done == total:
            click.echo("", err=True)
