"""Another secret for the installation: all that lies sealed under the former one is sealed anew."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from quizsvc.errors import InputError
from quizsvc.rules.audit import Action
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.occupancy import to_itself
from quizsvc.services.sealing import opened, sealed
from quizsvc.store.sealed_rows import SealedRow, put_sealed, sealed_rows

SHORTEST = 32  # characters
OWNERS = {"signing keys": "shop", "second factors": "person"}  # as they are sealed for


def change_secret(house: House, new: str, *, file: Path | None, now: datetime) -> int:
    """Seal everything under the new secret; return how many keys that were.

    ``file`` is where the installation keeps its secret, None if its environment states it. It is
    replaced once the transaction is on disk; where that fails, all is as before. Killed just
    between the two, the new secret lies beside it, in the file that ends in ".new".

    Raises:
        InputError: the new secret is too short or the present one.
        ConflictError: a server is running.
        UnavailableError: something does not open under the present secret.
    """
    if len(new) < SHORTEST or new == house.settings.secret_key:
        raise InputError(
            f"a new secret has {SHORTEST} characters or more and is not the present one.",
            field="secret",
            value=f"{len(new)} characters",
            remedy="Let the program draw one: leave QUIZSVC_NEW_SECRET_KEY unset.",
        )
    with to_itself(house.settings.instance), _put_into(file, new), house.write() as connection:
        rows = sealed_rows(connection)
        for row in rows:
            put_sealed(connection, row, _sealed_anew(house, row, new))
        note(connection, None, Action.SECRET_CHANGED, "installation", now=now, keys=len(rows))
    return len(rows)


def _sealed_anew(house: House, row: SealedRow, new: str) -> str:
    owner = f"{OWNERS[row.purpose]} {row.owner_id}"
    what = f"one of the {row.purpose} ({owner})"
    plain = opened(house, row.purpose, owner, row.sealed, what=what, otherwise="make it anew first")
    return sealed(house, row.purpose, owner, plain, secret_key=new)


@contextmanager
def _put_into(file: Path | None, new: str) -> Iterator[None]:
    """Have the new secret ready beside the file, and in its place once the block is through."""
    if file is None:
        yield
        return
    draft = file.with_name(f"{file.name}.new")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as opened_file:
        opened_file.write(new + "\n")
        opened_file.flush()
        os.fsync(opened_file.fileno())
    try:
        yield
    except BaseException:
        draft.unlink()
        raise
    draft.replace(file)
