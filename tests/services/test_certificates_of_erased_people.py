"""A certificate whose holder was erased: no file of it is left, and nothing stumbles over that."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from certifying import certify, make_crew, publish_scheme
from sqlalchemy import text
from workshop import NOON

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import privacy
from quizsvc.services.certifying import certificate_pages, issue_credentials, public_pages
from quizsvc.services.people import NewPerson, enrol

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def crew(workshop):
    crew = make_crew(workshop)
    version = publish_scheme(crew)
    for candidate in (crew.ana, crew.ben):
        certify(crew, version, candidate)
    return crew


@pytest.fixture
def token(crew):
    """The number of Ana's certificate, with all that was kept about her erased."""
    number = certificate_pages.own(crew.house, crew.ana, now=LATER)[0].token
    new = NewPerson("Adi", "adi", "x", {Role.ADMINISTRATOR})
    shop = crew.workshop.shop_id
    with crew.house.write() as connection:
        key = enrol(connection, None, shop, new, now=NOON)
    chief = Actor(key, "Adi", shop, frozenset({Role.ADMINISTRATOR}))
    privacy.erase_person(crew.house, chief, crew.ana.person_id, "Ana", now=LATER)
    return number


@pytest.mark.parametrize("signed", [False, True])
def test_its_files_are_told_to_be_erased(crew, token, signed):
    with pytest.raises(NotFoundError, match="erased with its holder") as told:
        certificate_pages.credential_file(
            crew.house, crew.max, token, signed_token=signed, now=LATER
        )

    assert "status list" in told.value.remedy


def test_its_public_page_stays(crew, token):
    page = public_pages.public_page(crew.house, token, now=LATER)

    assert page.token == token
    assert "Ana" not in page.holder


def test_a_key_is_withdrawn_all_the_same_and_signs_the_others_anew(crew, token):
    assert issue_credentials.revoke_key(crew.house, crew.max, "key-1", "stolen", now=LATER) == 1

    keys = issue_credentials.published_keys(crew.house, crew.workshop.shop_id)
    assert [one.get("revoked") is not None for one in keys["verificationMethod"]] == [True, False]
    with crew.house.read() as connection:
        rows = connection.execute(text("SELECT token, credential FROM certificate")).all()
    kept = {row.token: row.credential for row in rows}
    assert kept.pop(token) == ""
    (others,) = kept.values()
    assert json.loads(others)["proof"][0]["verificationMethod"].endswith("#key-2")
