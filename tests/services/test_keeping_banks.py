"""Loading hand-written banks: every version kept, nothing half loaded."""

from __future__ import annotations

import pytest
from PIL import Image
from sqlalchemy import text
from workshop import BANK, NOON

from quizsvc.errors import ConflictError, InputError
from quizsvc.items.banks.loading import load_bank
from quizsvc.rules.audit import Action
from quizsvc.services import banks, practise
from quizsvc.services.shelf import entry_from, entry_text
from quizsvc.services.shown import Given

PICTURED = """
schema_version = 1
id = "pictured"
title = "Pictured"
author = "tests"
[[items]]
id = "look"
topic = "cooling"
level = "recall"
kind = "one choice"
prompt = "What is shown?"
reference = "common practice, no source"
picture = "shown.png"
picture_alt = "A pump on a bench."
options = [
  { text = "A pump", correct = true, rationale = "It has an impeller." },
  { text = "A cam", rationale = "That is longer." },
]
"""


@pytest.fixture
def load(house, tmp_path):
    def keep(toml: str):
        path = tmp_path / "some.toml"
        path.write_text(toml)
        with house.write() as connection:
            return banks.keep_bank(connection, None, path, media=tmp_path, shop_id=None, now=NOON)

    return keep


def versions(house) -> list[tuple[int, bool]]:
    with house.read() as connection:
        rows = connection.execute(
            text(
                "SELECT v.version, v.current FROM bank_item_version v JOIN bank_item i "
                "ON i.id = v.item_id WHERE i.entry = 'first-step' ORDER BY v.version"
            )
        ).all()
    return [(version, bool(current)) for version, current in rows]


def test_loading_the_same_file_again_changes_nothing(load):
    loaded = load(BANK)

    assert (loaded.new, loaded.changed, loaded.unchanged) == (0, 0, 5)


def test_a_changed_item_under_its_old_version_is_refused_and_nothing_is_loaded(house, load):
    changed = BANK.replace("Drain the oil", "Drain all oil") + BANK.split("[[items]]")[1].join(
        ["[[items]]", ""]
    ).replace("first-step", "another")

    with pytest.raises(ConflictError, match="Set version = 2"):
        load(changed)

    assert load(BANK).unchanged == 5
    with house.read() as connection:
        found = connection.execute(text("SELECT count(*) FROM bank_item")).scalar_one()
    assert found == 5


def test_a_new_version_is_offered_and_earlier_answers_keep_the_old_one(house, ana, load):
    token = practise.put_next(house, ana, topic="safety", now=NOON)
    shown = practise.open_offer(house, ana, token, now=NOON)
    while not any(option.text == "Drain the oil" for option in shown.options):
        token = practise.put_next(house, ana, topic="safety", now=NOON)
        shown = practise.open_offer(house, ana, token, now=NOON)
    outcome = practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)

    loaded = load(
        BANK.replace('id = "first-step"', 'id = "first-step"\nversion = 2').replace(
            "Drain the oil", "Drain all oil"
        )
    )

    assert (loaded.new, loaded.changed, loaded.unchanged) == (0, 1, 4)
    assert versions(house) == [(1, False), (2, True)]
    assert practise.outcome(house, ana, token, now=NOON) == outcome
    assert "Drain the oil" in [
        o.text for o in practise.outcome(house, ana, token, now=NOON).options
    ]


def test_an_entry_comes_back_from_the_database_as_it_was_written(tmp_path):
    path = tmp_path / "bank.toml"
    path.write_text(BANK)

    for entry in load_bank(path).entries:
        assert entry_from(entry_text(entry)) == entry
        assert entry_from(entry_text(entry)).content_hash == entry.content_hash


def test_a_picture_is_noted_with_its_size_and_shown_by_name(house, ana, load, tmp_path):
    Image.new("RGB", (64, 40)).save(tmp_path / "shown.png")

    load(PICTURED)

    with house.read() as connection:
        noted = connection.execute(text("SELECT file, width, height, alt FROM media")).one()
    assert tuple(noted) == ("shown.png", 64, 40, "A pump on a bench.")
    pictures = set()
    for _ in range(20):
        token = practise.put_next(house, ana, topic="cooling", now=NOON)
        pictures.add(practise.open_offer(house, ana, token, now=NOON).picture)
    assert "shown.png" in pictures


@pytest.mark.parametrize("content", [None, b"<svg onload='x'>", b""])
def test_a_picture_that_is_missing_or_none_is_refused_by_name(load, tmp_path, content):
    if content is not None:
        (tmp_path / "shown.png").write_bytes(content)

    with pytest.raises(InputError) as refused:
        load(PICTURED)

    assert refused.value.field == "look: picture"
    assert refused.value.value == "shown.png"


def test_loading_is_noted_in_the_audit_log(house, load):
    load(BANK)

    with house.read() as connection:
        last = connection.execute(
            text("SELECT action, subject, detail FROM audit_entry ORDER BY number DESC LIMIT 1")
        ).one()
    assert tuple(last) == (Action.BANK_LOADED, "bank workshop", '{"changed":0,"new":0}')


def test_a_folder_stands_for_all_its_banks(tmp_path):
    (tmp_path / "b.toml").write_text(BANK)
    (tmp_path / "a.toml").write_text(BANK)
    (tmp_path / "notes.txt").write_text("")

    assert [path.name for path in banks.bank_files(tmp_path)] == ["a.toml", "b.toml"]
    assert banks.bank_files(tmp_path / "b.toml") == (tmp_path / "b.toml",)
