"""The demo's certification: somebody on every step of the way, all of it invented."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from quizsvc.config import settings_from
from quizsvc.demo.keeping import ensure_demo
from quizsvc.demo.names import SHOP
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import auditing
from quizsvc.services.certifying import cases, certificate_pages, schemes, shown_credentials
from quizsvc.services.house import House
from quizsvc.store.people import find_for_sign_in, find_shop

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path_factory.mktemp("demo"))})
    made = ensure_demo(settings, learners=6, fresh=False, now=NOW, progress=lambda *_: None)
    house = House.open(settings)
    with house.read() as connection:
        person = find_for_sign_in(connection, made.sign_ins["manager"][1])
        shop_id = find_shop(connection, SHOP)
    yield house, Actor(person.person_id, "Manager", shop_id, frozenset({Role.MANAGER}), SHOP)
    house.close()


def test_the_scheme_is_published_with_a_cut_its_judges_agree_on(shop):
    house, manager = shop

    (line,) = schemes.listed(house, manager)

    held = schemes.look(house, manager, line.id)
    assert "(invented)" in line.title
    assert line.state == "published"
    assert 0.5 < held.stored.cut_share < 0.8


def test_candidates_stand_on_different_steps(shop):
    house, manager = shop

    lines = cases.listed(house, manager)

    assert [one.decision.certified if one.decision else None for one in lines] == [
        *(None, None, False, True, True)
    ]
    assert [one.state for one in lines[:2]] == ["not begun", "handed in"]


def test_its_certificates_verify_and_the_log_is_whole(shop):
    house, manager = shop

    lines = certificate_pages.listed(house, manager, now=NOW)

    assert {line.state.value for line in lines} == {"valid"}
    assert len(lines) == 2
    text = certificate_pages.credential_file(
        house, manager, lines[0].token, signed_token=True, now=NOW
    )
    assert shown_credentials.check_file(house, text, now=NOW).valid
    assert auditing.broken_at(house) is None
