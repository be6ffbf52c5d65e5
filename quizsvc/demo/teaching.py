"""What the invented shop's instructors find: items studied, and a test printed on paper."""

from __future__ import annotations

from datetime import datetime, timedelta

from quizsvc.errors import QuizsvcError
from quizsvc.rules.actors import Actor
from quizsvc.services.assigning.pages import list_run
from quizsvc.services.house import House
from quizsvc.services.on_paper.printing import print_test
from quizsvc.services.studies_due import study_due

A_MOMENT_LATER = timedelta(minutes=2)  # the last answers have settled by then
VARIANTS = 2


def prepare_teaching(house: House, instructor: Actor, *, now: datetime) -> None:
    """Study what was answered, and print the first assignment that can be printed."""
    study_due(house, now=now + A_MOMENT_LATER, least=1)
    for line in reversed(list_run(house, instructor, now=now)):
        try:
            print_test(house, instructor, line.id, variants=VARIANTS, now=now)
        except QuizsvcError:  # nothing in it that a box can answer
            continue
        return
