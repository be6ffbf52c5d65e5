"""Export and erase a person, and keep retention rules: nothing else stops verifying."""

from __future__ import annotations

import io
import json
from datetime import timedelta
from zipfile import ZipFile

import pytest
from certifying import certify, publish_scheme, sign_off_task
from sqlalchemy import insert, text
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.job_needs import JobNeeds, TaskNeed
from quizsvc.rules.readiness import ReadyState
from quizsvc.rules.retention import Kind
from quizsvc.services import auditing, practise, privacy, readiness, shop_jobs
from quizsvc.services.certifying import certificate_pages, public_pages, shown_credentials
from quizsvc.services.people import NewPerson, enrol
from quizsvc.services.readiness import Wanted
from quizsvc.services.shown import Given
from quizsvc.store import schemes
from quizsvc.store.sessions import SignedIn

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def chief(workshop):
    """An administrator of the shop."""
    new = NewPerson("Adi", "adi", "x", {Role.ADMINISTRATOR})
    with workshop.house.write() as connection:
        key = enrol(connection, None, workshop.shop_id, new, now=NOON)
    return Actor(key, "Adi", workshop.shop_id, frozenset({Role.ADMINISTRATOR}))


def everything_in(house):
    """Return every text in every table, as one string to search in."""
    with house.read() as connection:
        names = connection.execute(
            text(
                "SELECT name FROM sqlite_master WHERE type='table'"
                if connection.dialect.name == "sqlite"
                else "SELECT table_name FROM information_schema.tables WHERE table_schema='public'"
            )
        ).scalars()
        rows = [
            str(row)
            for name in names.all()
            if not name.startswith(("sqlite_", "item_search"))
            for row in connection.execute(text(f'SELECT * FROM "{name}"'))  # noqa: S608
        ]
    return "\n".join(rows)


def unusual(crew):
    """Give Ana a name that stands nowhere else."""
    with crew.house.write() as connection:
        connection.execute(
            text("UPDATE person SET name = 'Quirina Zwetschge' WHERE id = :id"),
            {"id": crew.ana.person_id},
        )
    return "Quirina Zwetschge"


def test_an_erased_person_is_nowhere_and_what_rests_on_them_verifies(crew, chief):
    name = unusual(crew)
    answer_one(crew)
    version = publish_scheme(crew)
    certify(crew, version, crew.ana)
    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    kept_file = certificate_pages.credential_file(
        crew.house, crew.ana, line.token, signed_token=True, now=LATER
    )

    privacy.erase_person(crew.house, chief, crew.ana.person_id, name, now=LATER)

    assert name not in everything_in(crew.house)
    assert auditing.broken_at(crew.house) is None
    page = public_pages.public_page(crew.house, line.token, now=LATER)
    assert (page.holder, page.state) == ("Erased person", "valid")
    verdict = shown_credentials.check_file(crew.house, kept_file, holder=name, now=LATER)
    assert verdict.valid, [check.says for check in verdict.checks]
    with crew.house.read() as connection:
        assert connection.execute(text("SELECT count(*) FROM response")).scalar_one() > 0


def answer_one(crew):
    token = practise.put_next(crew.house, crew.ana, topic="safety", sheet=None, now=NOON)
    practise.answer(crew.house, crew.ana, token, Given(choices=(1,)), now=NOON)


def test_erasing_asks_for_the_name_and_the_right(crew, chief):
    ana = crew.ana.person_id

    with pytest.raises(InputError, match="not the name"):
        privacy.erase_person(crew.house, chief, ana, "Anna", now=NOON)
    with pytest.raises(NotAllowedError):
        privacy.erase_person(crew.house, crew.max, ana, "Ana", now=NOON)
    with pytest.raises(ConflictError, match="yourself"):
        privacy.erase_person(crew.house, chief, chief.person_id, "Adi", now=NOON)


def test_an_administrator_of_another_shop_erases_and_exports_nobody_here(crew, workshop):
    oda = workshop.people["oda"]
    stranger = Actor(oda.person_id, "Oda", oda.shop_id, frozenset({Role.ADMINISTRATOR}))

    with pytest.raises(NotFoundError):
        privacy.export_person(crew.house, stranger, crew.ana.person_id, now=NOON)
    with pytest.raises(NotFoundError):
        privacy.erase_person(crew.house, stranger, crew.ana.person_id, "Ana", now=NOON)

    with crew.house.read() as connection:
        noted = connection.execute(
            text("SELECT count(*) FROM audit_entry WHERE action = 'record refused'")
        ).scalar_one()
    assert noted == 2


def test_the_export_holds_all_that_is_kept_and_no_secret(crew):
    answer_one(crew)
    certify(crew, publish_scheme(crew), crew.ana)

    made = privacy.export_person(crew.house, crew.ana, crew.ana.person_id, now=LATER)

    with ZipFile(io.BytesIO(made.content)) as archive:
        data = json.loads(archive.read("person.json"))
    tables = data["tables"]
    assert tables["person"][0]["name"] == "Ana"
    assert len(tables["certificate"]) == len(tables["sitting"]) == 1
    assert tables["task_sign_off"][0]["notes"] == "clean work"
    assert tables["response"]
    assert tables["certificate_note"]
    assert {"password_hash", "seed", "token_hash", "item_hash", "key"}.isdisjoint(
        column for rows in tables.values() for row in rows for column in row
    )
    assert any(entry["action"] == "person added" for entry in data["audit log"])


def test_a_job_that_asks_for_certificate_and_signoff_goes_by_them(crew):
    version = publish_scheme(crew)
    with crew.house.read() as connection:
        scheme = schemes.find_version(connection, version).scheme_id
    needs = JobNeeds(schemes=(scheme,), tasks=(TaskNeed(scheme, "chain"),))
    shop_jobs.keep(crew.house, crew.max, None, "Work alone", "", needs, now=NOON)

    def cell(now):
        page = readiness.read_matrix(crew.house, crew.max, Wanted(words="ana"), now=now)
        return page.cells[page.rows[0].cells[0]]

    assert (
        cell(NOON).words
        == "Timing chains (invented): certificate; Replace a timing chain: sign-off"
    )
    sign_off_task(crew, version, crew.ana)
    assert cell(NOON).words == "Timing chains (invented): certificate"
    certify(crew, version, crew.ana)
    assert cell(LATER).state is ReadyState.READY
    assert cell(NOON + timedelta(days=800)).state is ReadyState.OUT_OF_DATE


def test_retention_says_first_and_does_then(crew):
    old = NOON - timedelta(days=90)
    with crew.house.write() as connection:
        for number, ended in enumerate((old, NOON - timedelta(days=1))):
            connection.execute(
                insert(SignedIn).values(
                    token_hash=f"{number:064}",
                    person_id=crew.ana.person_id,
                    shop_id=crew.ana.shop_id,
                    made_at=ended - timedelta(hours=1),
                    ends_at=ended,
                    source="here",
                )
            )

    def found(lines):
        return next(line.found for line in lines if line.rule.kind is Kind.SESSIONS)

    assert found(privacy.retention_finds(crew.house, now=NOON)) == 1
    assert found(privacy.retention_finds(crew.house, now=NOON)) == 1  # a dry run changes nothing
    assert found(privacy.keep_retention(crew.house, now=NOON)) == 1
    assert found(privacy.retention_finds(crew.house, now=NOON)) == 0
    assert auditing.broken_at(crew.house) is None


def test_people_gone_for_years_without_a_valid_certificate_are_erased(crew):
    with crew.house.write() as connection:
        connection.execute(
            text("DELETE FROM membership WHERE person_id = :id"), {"id": crew.ben.person_id}
        )

    def erased(now):
        privacy.keep_retention(crew.house, now=now)
        with crew.house.read() as connection:
            return (
                connection.execute(text("SELECT id FROM person WHERE erased_at IS NOT NULL"))
                .scalars()
                .all()
            )

    assert erased(NOON + timedelta(days=3 * 365 - 1)) == []
    assert erased(NOON + timedelta(days=3 * 365 + 2)) == [crew.ben.person_id]
