"""Make the demo once and keep it: whole or not at all, and never over real data."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from sqlalchemy import make_url

from quizsvc.config import Settings
from quizsvc.demo.making import Progress, make_demo
from quizsvc.errors import ConflictError
from quizsvc.services.house import House
from quizsvc.services.occupancy import to_itself
from quizsvc.services.people import shops

NOTE = "demo.json"
BESIDE = ("-wal", "-shm", ".turns")  # files SQLite and we keep beside a database


@dataclass(frozen=True, slots=True)
class Demo:
    """How to sign in to the demo, and whether it was made just now."""

    password: str
    sign_ins: dict[str, tuple[str, str]]  # role -> name, sign-in name
    people: int
    answers: int
    made_now: bool


def ensure_demo(
    settings: Settings, *, learners: int, fresh: bool, now: datetime, progress: Progress
) -> Demo:
    """Return the demo in the settings' database, made now unless it is there.

    Raises:
        ConflictError: the database holds real people, or a server runs on the one to replace.
    """
    kept = None if fresh else _kept(settings)
    if kept is not None:
        House.open(settings, upgrade=True).close()
        return kept
    with to_itself(settings.instance), _place(settings, fresh=fresh) as place:
        house = House.open(place, upgrade=True)
        try:
            password = secrets.token_urlsafe(9)
            made = make_demo(
                house, password=password, learners=learners, now=now, progress=progress
            )
        finally:
            house.close()
    demo = Demo(
        password,
        {role.value: (one.name, one.sign_in_name) for role, one in made.sign_ins.items()},
        made.people,
        made.answers,
        made_now=True,
    )
    _write_note(settings, demo)
    return demo


@contextmanager
def _place(settings: Settings, *, fresh: bool) -> Iterator[Settings]:
    """Give a place to make the demo in; a SQLite file takes its name only when it is whole."""
    _refuse_real_data(settings, fresh=fresh)
    if not _is_file(settings):
        yield settings
        return
    target = Path(str(make_url(settings.database_url).database))
    draft = target.with_name("demo-in-the-making.sqlite3")
    _remove(draft)
    yield replace(settings, database_url=f"sqlite:///{draft}")
    _remove(target)
    draft.replace(target)
    _remove(draft)


def _refuse_real_data(settings: Settings, *, fresh: bool) -> None:
    if _is_file(settings) and not Path(str(make_url(settings.database_url).database)).exists():
        return
    house = House.open(settings, upgrade=True)
    try:
        found = shops(house)
    finally:
        house.close()
    if real := [shop.name for shop in found if not shop.invented]:
        raise ConflictError(
            "this database holds a real shop; the demo never mixes with one.",
            field="shop",
            value=real[0],
            remedy="Name another folder in QUIZSVC_INSTANCE.",
        )
    if found and not (fresh and _is_file(settings)):
        raise ConflictError(
            "an invented shop is there, but not how to sign in to it.",
            field="shop",
            value=found[0].name,
            remedy="Use --fresh to make it anew."
            if _is_file(settings)
            else "Create the database on the server anew, then make the demo.",
        )


def _kept(settings: Settings) -> Demo | None:
    """Return the demo noted for this very database, or None."""
    note = settings.instance / NOTE
    if not note.exists():
        return None
    data = json.loads(note.read_text(encoding="utf-8"))
    if data.pop("database") != _fingerprint(settings):
        return None
    if _is_file(settings) and not Path(str(make_url(settings.database_url).database)).exists():
        return None
    sign_ins = {role: (name, sign_in) for role, (name, sign_in) in data.pop("sign_ins").items()}
    return Demo(sign_ins=sign_ins, made_now=False, **data)


def _write_note(settings: Settings, demo: Demo) -> None:
    note = settings.instance / NOTE
    handle = os.open(note, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(
            {
                "database": _fingerprint(settings),
                "password": demo.password,
                "sign_ins": demo.sign_ins,
                "people": demo.people,
                "answers": demo.answers,
            },
            file,
            indent=1,
        )


def _fingerprint(settings: Settings) -> str:
    """Name the database without its password."""
    return make_url(settings.database_url).render_as_string(hide_password=True)


def _is_file(settings: Settings) -> bool:
    return settings.database_url.startswith("sqlite")


def _remove(database: Path) -> None:
    for end in ("", *BESIDE):
        Path(f"{database}{end}").unlink(missing_ok=True)
