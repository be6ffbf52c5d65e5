"""Backups: whole, checked before they replace anything, and able to bring everything back."""

from __future__ import annotations

import json
import sqlite3
import threading
import zipfile
from contextlib import closing
from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.errors import ConflictError, InputError
from quizsvc.services.backup import CONTENTS, DATABASE, check_backup, make_backup, restore_backup
from quizsvc.services.examine import examine
from quizsvc.services.house import House
from quizsvc.services.occupancy import occupied

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def settings(tmp_path):
    made = settings_from({"QUIZSVC_INSTANCE": str(tmp_path / "instance")})
    House.open(made, upgrade=True).close()
    (made.instance / "keys").mkdir()
    (made.instance / "keys" / "2026.key").write_text("signing key of the test")
    write(made, "first")
    return made


def write(settings, name):
    house = House.open(settings)
    with house.write() as connection:
        connection.execute(text("CREATE TABLE IF NOT EXISTS kept (name TEXT)"))
        connection.execute(text("INSERT INTO kept VALUES (:name)"), {"name": name})
    house.close()


def names(settings):
    with closing(sqlite3.connect(settings.instance / "quizsvc.sqlite3")) as connection:
        return [row[0] for row in connection.execute("SELECT name FROM kept ORDER BY rowid")]


def repacked(backup, target, change):
    """Write a copy of a backup in which ``change(name, data)`` may give other bytes."""
    with zipfile.ZipFile(backup) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = change(name, old.read(name))
            if data is not None:
                new.writestr(name, data)
    return target


def test_a_restored_backup_brings_back_database_keys_and_secret(settings, tmp_path):
    secret = (settings.instance / "secret.key").read_text()
    backup = tmp_path / "a.zip"
    report = make_backup(settings, backup, now=NOW)
    write(settings, "after the backup")
    (settings.instance / "keys" / "2026.key").write_text("overwritten")
    (settings.instance / "secret.key").write_text("overwritten")

    aside = restore_backup(backup, settings, now=NOW)

    assert report.made_at == NOW
    assert names(settings) == ["first"]
    assert (settings.instance / "keys" / "2026.key").read_text() == "signing key of the test"
    assert (settings.instance / "secret.key").read_text() == secret
    assert (aside / "keys" / "2026.key").read_text() == "overwritten"


def test_a_backup_is_for_its_owner_only(settings, tmp_path):
    make_backup(settings, tmp_path / "a.zip", now=NOW)

    assert (tmp_path / "a.zip").stat().st_mode & 0o077 == 0


def test_a_backup_under_load_is_whole_and_a_moment_in_time(settings, tmp_path):
    stop = threading.Event()

    def keep_writing():
        house = House.open(settings)
        number = 0
        while not stop.is_set():
            with house.write() as connection:
                for half in ("a", "b"):  # two rows in one transaction: never one without the other
                    connection.execute(
                        text("INSERT INTO kept VALUES (:name)"), {"name": f"{number}{half}"}
                    )
            number += 1
        house.close()

    writer = threading.Thread(target=keep_writing)
    writer.start()
    try:
        for turn in range(3):
            make_backup(settings, tmp_path / f"{turn}.zip", now=NOW)
    finally:
        stop.set()
        writer.join()

    restore_backup(tmp_path / "2.zip", settings, now=NOW)

    rows = names(settings)[1:]
    assert rows
    assert len(rows) % 2 == 0
    assert [row[:-1] for row in rows[::2]] == [row[:-1] for row in rows[1::2]]


def test_an_existing_file_is_never_written_over(settings, tmp_path):
    (tmp_path / "a.zip").write_text("precious")

    with pytest.raises(ConflictError, match="already"):
        make_backup(settings, tmp_path / "a.zip", now=NOW)

    assert (tmp_path / "a.zip").read_text() == "precious"


def test_nothing_half_written_is_left_beside_a_backup(settings, tmp_path):
    make_backup(settings, tmp_path / "a.zip", now=NOW)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.zip", "instance"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda name, data: data if name != DATABASE else data[:-1] + b"x", "changed"),
        (lambda name, data: data if name != DATABASE else data + b"more", "longer"),
        (lambda name, data: data if name != DATABASE else None, "not whole"),
        (lambda name, data: data if name != CONTENTS else None, "not whole"),
        (lambda name, data: data if name != CONTENTS else b"{", "not whole"),
        (lambda name, data: data if name != CONTENTS else b'{"format": 99}', "format 99"),
    ],
)
def test_a_spoiled_backup_is_refused_and_replaces_nothing(settings, tmp_path, change, says):
    make_backup(settings, tmp_path / "a.zip", now=NOW)
    spoiled = repacked(tmp_path / "a.zip", tmp_path / "b.zip", change)
    write(settings, "second")

    with pytest.raises(InputError, match=says):
        restore_backup(spoiled, settings, now=NOW)

    assert names(settings) == ["first", "second"]


def test_a_backup_that_would_write_outside_is_refused(settings, tmp_path):
    make_backup(settings, tmp_path / "a.zip", now=NOW)

    def escape(name, data):
        if name != CONTENTS:
            return data
        contents = json.loads(data)
        contents["files"]["../outside"] = {"sha256": "", "size": 3}
        return json.dumps(contents).encode()

    spoiled = repacked(tmp_path / "a.zip", tmp_path / "b.zip", escape)

    with pytest.raises(InputError, match="outside"):
        check_backup(spoiled)


def test_a_cut_off_backup_is_refused(settings, tmp_path):
    make_backup(settings, tmp_path / "a.zip", now=NOW)
    whole = (tmp_path / "a.zip").read_bytes()
    (tmp_path / "b.zip").write_bytes(whole[: len(whole) // 2])

    with pytest.raises(InputError, match="not whole"):
        check_backup(tmp_path / "b.zip")


def test_nothing_is_restored_while_a_server_runs(settings, tmp_path):
    make_backup(settings, tmp_path / "a.zip", now=NOW)

    with occupied(settings.instance), pytest.raises(ConflictError, match="server is running"):
        restore_backup(tmp_path / "a.zip", settings, now=NOW)


def test_a_sound_installation_has_nothing_that_is_not_well(settings):
    found = list(examine(settings))

    assert {one.what for one in found} >= {
        "disk",
        "secret key",
        "database file",
        "tables",
        "audit log",
    }
    assert [one for one in found if one.well is False] == []


def test_a_damaged_database_file_is_not_well(settings):
    path = settings.instance / "quizsvc.sqlite3"
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 3 + 2000] = bytes(2000)
    path.write_bytes(data)

    found = {one.what: one for one in examine(settings)}

    assert found["database file"].well is False
    assert "restore" in found["database file"].remedy


def test_a_readable_secret_is_not_well(settings):
    (settings.instance / "secret.key").chmod(0o644)

    found = {one.what: one for one in examine(settings)}

    assert found["secret key"].well is False


def test_missing_tables_are_told_with_the_remedy(tmp_path):
    bare = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})

    found = {one.what: one for one in examine(bare)}

    assert found["tables"].well is False
    assert "database upgrade" in found["tables"].remedy
