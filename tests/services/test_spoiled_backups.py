"""Backups with anything changed in them are whole or refused, and nothing is replaced by them."""

from __future__ import annotations

import json
import random
import zipfile
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest

from quizsvc.config import settings_from
from quizsvc.errors import InputError
from quizsvc.services.backup import CONTENTS, check_backup, make_backup, restore_backup
from quizsvc.services.house import House

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
TURNS = 80


@pytest.fixture(scope="module")
def backup(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("spoiled")
    settings = settings_from({"QUIZSVC_INSTANCE": str(folder / "instance")})
    House.open(settings, upgrade=True).close()
    make_backup(settings, folder / "whole.zip", now=NOW)
    return folder / "whole.zip"


def spoiled(whole: bytes, chance: random.Random) -> bytes:
    """Change a few bytes, mostly at the ends, where an archive says what is in it."""
    changed = bytearray(whole)
    for _ in range(chance.randrange(1, 5)):
        near = chance.choice((0, len(changed) - 900, chance.randrange(len(changed))))
        at = min(max(0, near + chance.randrange(900)), len(changed) - 1)
        match chance.randrange(4):
            case 0:
                changed[at] ^= chance.randrange(1, 256)
            case 1:
                del changed[at : at + chance.randrange(1, 60)]
            case 2:
                changed[at:at] = chance.randbytes(chance.randrange(1, 9))
            case _:
                changed[at : at + 2] = b"\xff\xff"
    return bytes(changed)


def came_of(path: Path) -> str:
    try:
        check_backup(path)
    except InputError as refusal:
        said = refusal.problem, refusal.remedy
    else:
        return "whole"
    assert all(said), said
    return "refused"


def test_a_backup_with_bytes_changed_is_whole_or_refused(backup, tmp_path, say):
    whole, chance, came = backup.read_bytes(), random.Random(41), Counter()
    for _ in range(TURNS):
        (tmp_path / "spoiled.zip").write_bytes(spoiled(whole, chance))
        came[came_of(tmp_path / "spoiled.zip")] += 1

    say(f"mutations: {came.total()} backups with bytes changed ({dict(came)})")
    assert came_of(backup) == "whole"
    assert came["refused"] > TURNS // 2


@pytest.mark.parametrize("method", [zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2, 9, 98])
def test_a_backup_packed_in_a_way_that_does_not_fit_is_refused(backup, tmp_path, method):
    """The method of packing is a number in the archive, and somebody may write another there."""
    content = backup.read_bytes()
    for sign, at in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        place = content.rindex(sign) + at
        content = content[:place] + method.to_bytes(2, "little") + content[place + 2 :]
    (tmp_path / "other.zip").write_bytes(content)
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path / "instance")})
    House.open(settings, upgrade=True).close()
    before = (tmp_path / "instance" / "secret.key").read_text()

    with pytest.raises(InputError, match="not whole"):
        restore_backup(tmp_path / "other.zip", settings, now=NOW)

    assert (tmp_path / "instance" / "secret.key").read_text() == before


@pytest.mark.parametrize(
    "changed",
    [
        {"database": "other"},
        {"made_at": "once"},
        {"made_at": 5},
        {"files": []},
        {"files": {"a": 1}},
    ],
)
def test_a_backup_whose_list_says_what_cannot_be_is_refused(backup, tmp_path, changed):
    other = tmp_path / "other.zip"
    with zipfile.ZipFile(backup) as old, zipfile.ZipFile(other, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == CONTENTS:
                data = json.dumps(json.loads(data) | changed).encode()
            new.writestr(name, data)

    assert came_of(other) == "refused"
