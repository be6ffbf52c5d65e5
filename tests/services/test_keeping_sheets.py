"""Storing engine sheets: every revision whole, an older one never overwritten."""

from __future__ import annotations

import pytest
from workshop import NOON, SHEET

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.services import practise, sheets
from quizsvc.services.auditing import broken_at

TOML = SHEET.read_text()
SECOND = TOML.replace("revision = 1", "revision = 2", 1)
OWN = TOML.replace('id = "demo-inline-four"', 'id = "own-engine"', 1)


def choices(house, actor):
    return [
        (sheet.sheet_id, sheet.revision) for sheet in practise.overview(house, actor, NOON).sheets
    ]


def test_the_same_sheet_again_is_left_alone(house, workshop):
    stored = sheets.store_sheet(house, workshop.people["ida"], TOML, now=NOON)

    assert not stored.new


def test_a_changed_sheet_needs_a_new_revision(house, workshop):
    with pytest.raises(ConflictError, match="revision 2"):
        sheets.store_sheet(house, workshop.people["ida"], TOML + "\n# changed\n", now=NOON)


def test_the_newest_revision_is_the_one_practised(house, ana, workshop):
    sheets.store_sheet(house, workshop.people["ida"], SECOND, now=NOON)

    assert choices(house, ana) == [("demo-inline-four", 2)]


def test_an_item_of_an_earlier_revision_is_still_drawn_as_it_was(house, ana, workshop):
    token = practise.put_next(house, ana, topic="cycle", now=NOON)
    before = practise.open_offer(house, ana, token, now=NOON)

    sheets.store_sheet(house, workshop.people["ida"], SECOND, now=NOON)

    assert practise.open_offer(house, ana, token, now=NOON) == before


def test_a_shops_own_sheet_is_for_its_people_only(house, workshop):
    sheets.store_sheet(house, workshop.people["ida"], OWN, now=NOON)

    assert ("own-engine", 1) in choices(house, workshop.people["ana"])
    assert ("own-engine", 1) not in choices(house, workshop.people["oda"])
    with pytest.raises(InputError, match="no such engine sheet"):
        practise.put_next(
            house, workshop.people["oda"], topic="cycle", sheet="own-engine", now=NOON
        )


@pytest.mark.parametrize("name", ["ana", "max"])
def test_only_an_instructor_stores_sheets(house, workshop, name):
    with pytest.raises(NotAllowedError, match="instructor"):
        sheets.store_sheet(house, workshop.people[name], OWN, now=NOON)


def test_a_text_that_is_no_sheet_is_refused_and_nothing_is_stored(house, workshop):
    with pytest.raises(InputError):
        sheets.store_sheet(house, workshop.people["ida"], "title = 'x'", now=NOON)

    assert choices(house, workshop.people["ana"]) == [("demo-inline-four", 1)]


def test_the_audit_chain_holds_over_all_this(house, workshop):
    sheets.store_sheet(house, workshop.people["ida"], OWN, now=NOON)

    assert broken_at(house) is None
