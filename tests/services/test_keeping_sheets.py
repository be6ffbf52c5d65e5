"""Storing engine sheets: every revision whole, an older one never overwritten."""

from __future__ import annotations

import pytest
from workshop import NOON, SHEET

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.services import practise, sheets
from quizsvc.services.auditing import broken_at
from quizsvc.store import sheets as store

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


def shipped_again(house, folder, toml):
    """Do what loading the shipped sheets does, the program coming with this text."""
    folder.mkdir(exist_ok=True)
    (folder / "demo-inline-four.toml").write_text(toml)
    with house.write() as connection:
        return sheets.keep_shipped_sheets(connection, folder, now=NOON)


def test_shipped_sheets_loaded_again_change_nothing(house, ana, tmp_path):
    (kept,) = shipped_again(house, tmp_path / "engines", TOML)

    assert (kept.new, kept.held_back) == (False, False)
    assert choices(house, ana) == [("demo-inline-four", 1)]


def test_a_later_shipped_revision_is_stored_where_nobody_changed_the_sheet(house, ana, tmp_path):
    (kept,) = shipped_again(house, tmp_path / "engines", SECOND)

    assert (kept.new, kept.held_back) == (True, False)
    assert choices(house, ana) == [("demo-inline-four", 2)]


@pytest.mark.parametrize("revision", [2, 3])
def test_an_instructors_own_revision_of_a_shipped_sheet_stands(house, workshop, tmp_path, revision):
    own = SECOND + "\n# our own values\n"
    sheets.store_sheet(house, workshop.people["ida"], own, now=NOON)
    later = TOML.replace("revision = 1", f"revision = {revision}", 1)

    (kept,) = shipped_again(house, tmp_path / "engines", later)
    (again,) = shipped_again(house, tmp_path / "engines", later)

    assert (kept.new, kept.held_back) == (False, True)
    assert again == kept
    assert choices(house, workshop.people["ana"]) == [("demo-inline-four", 2)]
    with house.read() as connection:
        (row,) = store.latest_published(connection, workshop.shop_id)
        assert store.toml_of(connection, row.id) == own


def test_an_instructors_own_revision_does_not_stop_the_shipped_one_it_is_made_from(
    house, workshop, tmp_path
):
    sheets.store_sheet(house, workshop.people["ida"], SECOND + "\n# own\n", now=NOON)

    (kept,) = shipped_again(house, tmp_path / "engines", TOML)

    assert (kept.new, kept.held_back) == (False, False)


def test_a_shipped_sheet_changed_under_its_number_is_a_fault_of_the_program(house, tmp_path):
    with pytest.raises(ConflictError, match="another content"):
        shipped_again(house, tmp_path / "engines", TOML + "\n# changed\n")
