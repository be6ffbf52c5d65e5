"""Another secret for the installation: what was sealed under the former one opens under it."""

from __future__ import annotations

import stat
from dataclasses import replace
from datetime import timedelta

import pytest
from second_steps import code_of, light_hashes, turned_on  # noqa: F401 - a fixture
from sqlalchemy import text
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, UnavailableError
from quizsvc.rules.actors import Role
from quizsvc.services.certifying import issue_credentials
from quizsvc.services.change_secret import change_secret
from quizsvc.services.occupancy import occupied
from quizsvc.store import sealed_rows
from quizsvc.store.tables import METADATA

NEW = "another secret of the invented workshop"


pytestmark = pytest.mark.usefixtures("light_hashes")


@pytest.fixture
def sealed_things(house, workshop, ana):
    turned_on(house, ana)
    manager = replace(workshop.people["max"], roles=frozenset({Role.MANAGER}))
    issue_credentials.rotate(house, manager, now=NOON)
    issue_credentials.rotate(house, manager, now=NOON + timedelta(days=1))
    return house


def under(house, secret):
    house.settings = replace(house.settings, secret_key=secret)
    return house


def rows(house):
    with house.read() as connection:
        return sealed_rows.sealed_rows(connection)


def test_every_table_that_holds_something_sealed_is_known():
    holding = {name for name, table in METADATA.tables.items() if "sealed" in table.c}

    assert holding == {"issuer_key", "second_factor"}


def test_all_that_was_sealed_opens_under_the_new_secret_and_under_no_other(sealed_things, ana):
    house, before = sealed_things, rows(sealed_things)
    code = code_of(house, ana, NOON)

    keys = change_secret(house, NEW, file=None, now=NOON)

    assert keys == len(before) == 3
    assert not {row.sealed for row in before} & {row.sealed for row in rows(house)}
    with pytest.raises(UnavailableError, match="another secret key"):
        code_of(house, ana, NOON)
    assert code_of(under(house, NEW), ana, NOON) == code
    assert change_secret(house, "x" * 40, file=None, now=NOON) == 3


def test_the_file_holds_the_new_secret_for_its_owner_only(house, tmp_path):
    file = tmp_path / "secret.key"
    file.write_text("the former\n")

    change_secret(house, NEW, file=file, now=NOON)

    assert file.read_text() == f"{NEW}\n"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert [one.name for one in tmp_path.glob("secret.key*")] == ["secret.key"]


def test_where_one_thing_does_not_open_all_stays_as_it_was(sealed_things, tmp_path):
    house, file = sealed_things, tmp_path / "secret.key"
    file.write_text("the former\n")
    with house.write() as connection:
        connection.execute(text("UPDATE second_factor SET sealed = 'AAAAAAAAAAAAAAAAAAAAAAAAAAAA'"))
    before = rows(house)

    with pytest.raises(UnavailableError, match="second factors"):
        change_secret(house, NEW, file=file, now=NOON)

    assert rows(house) == before
    assert file.read_text() == "the former\n"
    assert not (tmp_path / "secret.key.new").exists()


def test_a_running_server_or_a_poor_secret_stops_it(house):
    with occupied(house.settings.instance), pytest.raises(ConflictError, match="running"):
        change_secret(house, NEW, file=None, now=NOON)
    for poor in ("short", house.settings.secret_key):
        with pytest.raises(InputError, match="32 characters"):
            change_secret(house, poor, file=None, now=NOON)
