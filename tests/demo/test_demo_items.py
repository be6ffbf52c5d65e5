"""The demo's own items stand in every state of review."""

from datetime import UTC, datetime

import pytest

from quizsvc.config import HOME, Settings
from quizsvc.demo.authoring import BANK
from quizsvc.demo.corrected_key import FORWARD
from quizsvc.demo.making import make_demo
from quizsvc.rules.actors import Actor, Role
from quizsvc.services.auditing import broken_at
from quizsvc.services.house import House
from quizsvc.services.review import item_page
from quizsvc.services.search_items import Query, search
from quizsvc.services.tests_again.planning import plan_of

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo-items")
    settings = Settings(folder, f"sqlite:///{folder / 'q.sqlite3'}", "x" * 64, media=HOME / "media")
    opened = House.open(settings, upgrade=True)
    make_demo(
        opened, password="several words of invention", learners=2, now=NOW, progress=lambda *_: None
    )
    yield opened
    opened.close()


def test_every_state_is_there_with_its_history(house):
    instructor = Actor(4, "An instructor", 1, frozenset({Role.INSTRUCTOR}))

    found = search(house, instructor, Query(bank=BANK), now=NOW)

    states = {one.card.item_ref.rpartition("/")[2]: one.card.state.value for one in found.items}
    assert states == {
        "roller-noise": "draft",
        "lamp-behind": "withdrawn",
        "cover-bolts": "in review",
        "cold-first": "draft",
        "turning-by-hand": "approved",
    }
    pages = {
        one.card.item_ref.rpartition("/")[2]: item_page(house, instructor, one.card.item_id)
        for one in found.items
    }
    assert pages["roller-noise"].offered.version == 1
    assert pages["roller-noise"].newest.version == 2
    assert pages["cover-bolts"].findings == ()
    assert "I approve it" in pages["cover-bolts"].history[0].words
    assert len(pages["lamp-behind"].remarks) == 1
    assert len(pages["turning-by-hand"].remarks) == 1
    assert broken_at(house) is None


def test_finished_homework_waits_to_be_looked_at_after_a_corrected_key(house):
    instructor = Actor(4, "An instructor", 1, frozenset({Role.INSTRUCTOR}))
    found = search(house, instructor, Query(bank=BANK, words="crankshaft turned by hand"), now=NOW)
    (item,) = found.items

    plan = plan_of(house, instructor, item.card.item_id)

    assert item_page(house, instructor, item.card.item_id).tests_waiting == len(plan.lines) > 0
    assert any(line.marked != line.now for line in plan.lines)
    assert plan.right_words == FORWARD
