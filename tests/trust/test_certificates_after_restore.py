"""Certificates outlive the machine: backed up, put into an empty instance, and verified again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

import postgres_server
import pytest
from certifying import certify, make_crew, publish_scheme
from click.testing import CliRunner
from flask import Flask
from whole_shop import grey_picture
from workshop import NOON, Workshop, stock

from quizsvc.cli.main import quizsvc
from quizsvc.config import Settings, settings_from
from quizsvc.errors import UnavailableError
from quizsvc.interchange.credentials.verify import read_published_keys, verify_credential
from quizsvc.rules.certificate_life import CertificateDeed
from quizsvc.services.backup import make_backup, restore_backup
from quizsvc.services.certifying import certificate_pages, issue_credentials, revoking
from quizsvc.services.house import House
from quizsvc.services.pictures import keep_picture, picture_bytes
from quizsvc.store import certificates
from quizsvc.web.app import create_app

LATER = NOON + timedelta(days=1)
ENGINES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)]


@dataclass
class Kept:
    """What people outside hold, or can fetch without signing in, of a shop's certificates."""

    files: dict[str, str]  # credentials as JSON and as tokens, by name
    pages: dict[str, str]  # what public addresses answer
    picture: bytes

    def verdict(self, name: str, *, published: Kept | None = None):
        """Verify a file offline with these published keys and this status list, or others'."""
        pages = (published or self).pages
        keys = read_published_keys(pages["issuer"])
        return verify_credential(self.files[name], keys, now=LATER, status_list=pages["list"])


@dataclass
class Instance:
    """An installation in a folder, with a database of its own, empty at first."""

    folder: Path
    address: str  # of the database; empty for SQLite in the folder

    @property
    def settings(self) -> Settings:
        environment = {"QUIZSVC_INSTANCE": str(self.folder), "QUIZSVC_MEDIA": str(self.folder)}
        return settings_from(environment | ({"DATABASE_URL": self.address} if self.address else {}))


@dataclass
class Restored:
    """A shop's certificates as they were, and as they are where its backup was put in place."""

    first: Instance
    second: Instance
    tokens: dict[str, str]
    before: Kept
    after: Kept


@pytest.fixture(scope="module", params=ENGINES)
def restored(request, tmp_path_factory) -> Iterator[Restored]:
    served, folder = request.param == "postgresql", tmp_path_factory.mktemp("restored")
    first, second = (
        Instance(folder / name, postgres_server.new_database() if served else "")
        for name in ("first", "second")
    )
    house = House.open(first.settings, upgrade=True)
    tokens = furnished(house, folder)
    before = kept_of(house, tokens)
    house.close()
    make_backup(first.settings, folder / "a.zip", now=LATER)
    restore_backup(folder / "a.zip", second.settings, now=LATER)
    house = House.open(second.settings)
    yield Restored(first, second, tokens, before, kept_of(house, tokens))
    house.close()
    for one in (first, second) if served else ():
        postgres_server.drop_database(one.address)


def furnished(house: House, folder: Path) -> dict[str, str]:
    """Certify Ana and Ben, take Ben's back; return the tokens of both, and a kept picture."""
    shop_id, people = stock(house, folder)
    crew = make_crew(Workshop(house, shop_id, people))
    version = publish_scheme(crew)
    for one in (crew.ana, crew.ben):
        certify(crew, version, one)
    tokens = {
        name: certificate_pages.own(house, actor, now=LATER)[0].token
        for name, actor in (("ana", crew.ana), ("ben", crew.ben))
    }
    revoked = CertificateDeed.REVOKED
    revoking.do(house, crew.max, tokens["ben"], revoked, "It was a mistake.", now=LATER)
    return tokens | {"picture": keep_picture(house, crew.ida, grey_picture(), now=NOON)}


def kept_of(house: House, tokens: dict[str, str]) -> Kept:
    app = create_app(house, clock=lambda: LATER, overrides={"RATELIMIT_ENABLED": False})
    pages = {
        "issuer": asked(app, "/issuers/1"),
        "list": asked(app, "/issuers/1/status-list"),
        "ana": asked(app, f"/verify/{tokens['ana']}"),
        "ben": asked(app, f"/verify/{tokens['ben']}"),
    }
    return Kept(files_of(house, tokens), pages, picture_bytes(house, tokens["picture"]))


def asked(app: Flask, address: str) -> str:
    answer = app.test_client().get(address)
    assert answer.status_code == 200, answer.text
    return answer.text


def files_of(house: House, tokens: dict[str, str]) -> dict[str, str]:
    with house.read() as connection:
        held = {
            name: certificates.find_certificate(connection, tokens[name]) for name in ("ana", "ben")
        }
    files = {name: one.credential for name, one in held.items()}
    return files | {f"{name} token": one.token_form for name, one in held.items()}


def test_certificates_verify_after_a_backup_was_put_into_an_empty_instance(restored):
    before, after = restored.before, restored.after

    assert restored.second.settings.secret_key == restored.first.settings.secret_key
    assert after.files == before.files
    assert after.picture == before.picture
    assert json.loads(after.pages["issuer"]) == json.loads(before.pages["issuer"])
    for name in ("ana", "ana token"):
        # What was handed out before the loss stands on what is published after it.
        assert before.verdict(name).valid
        assert before.verdict(name, published=after).valid
    for name in ("ben", "ben token"):
        checks = {one.what: one for one in before.verdict(name, published=after).checks}
        assert checks["signature"].holds
        assert checks["status"].says == "Revoked by the issuer."
    assert "This certificate is valid" in after.pages["ana"]
    assert "This certificate was revoked" in after.pages["ben"]
    assert {**after.pages, "list": ""} == {**before.pages, "list": ""}


def test_the_command_verifies_an_old_file_on_what_a_restored_instance_publishes(restored, tmp_path):
    for name, content in (restored.after.pages | restored.before.files).items():
        (tmp_path / name).write_text(content)

    ends = {name: verified(tmp_path, name) for name in restored.before.files}

    assert ends == {"ana": 0, "ana token": 0, "ben": 1, "ben token": 1}


def verified(folder: Path, name: str) -> int:
    place = {one: str(folder / one) for one in (name, "issuer", "list")}
    options = ["--keys", place["issuer"], "--status", place["list"], "--at", f"{LATER:%FT%TZ}"]
    return CliRunner().invoke(quizsvc, ["credential", "verify", place[name], *options]).exit_code


def test_a_signing_key_restored_under_another_secret_is_said_with_the_remedy(restored):
    """Who keeps the secret outside the instance must bring it back with the backup."""
    other = House.open(replace(restored.second.settings, secret_key="y" * 64))

    with pytest.raises(UnavailableError, match="another secret key") as told:
        issue_credentials.status_list(other, 1, now=LATER + timedelta(days=60))

    assert "former secret key" in told.value.remedy
    other.close()
