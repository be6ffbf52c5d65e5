"""Study in the background the items that were answered often since their last study."""

from __future__ import annotations

from datetime import datetime, timedelta

from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.background import Work, ask_for, kind_of_work
from quizsvc.services.house import House
from quizsvc.services.study_items import study_item
from quizsvc.store import studies

STUDY_AFTER = 50  # new answers, before the background studies again
SETTLED = timedelta(minutes=1)  # an answer this old is in the database for everybody to see
MARK = "item studies"
KIND = "study items"


def ask_for_study(house: House, actor: Actor, *, now: datetime) -> int:
    """Have the shop's items studied in the background; return the key of the work."""
    require(actor, May.SEE_CLASS_RECORDS)
    return ask_for(house, actor, KIND, "", now=now)


@kind_of_work(KIND)
def _study_in_background(work: Work) -> str:
    done = study_due(work.house, now=work.clock(), least=1)
    return f"Studied: {done} items."


def study_due(house: House, *, now: datetime, least: int = STUDY_AFTER) -> int:
    """Study every item answered since the last time, if ``least`` answers came; return how many."""
    with house.read() as connection:
        since = studies.mark_of(connection, MARK)
        upto = studies.newest_response(connection, before=now - SETTLED)
        if upto - since < least:
            return 0
        due = studies.answered_since(connection, since, upto)
    for shop_id, item_ref in due:
        study_item(house, shop_id, item_ref, now=now)
    with house.write() as connection:
        studies.set_mark(connection, MARK, upto)
    return len(due)


def study_when_due(house: House, now: datetime) -> int:
    """Study in the background once enough new answers came; nearly free until then."""
    return study_due(house, now=now)
