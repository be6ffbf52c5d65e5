"""Keep hand-written banks: every version of every item whole, and the pictures they show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from PIL import Image, UnidentifiedImageError
from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.items.banks.bank import Bank, Entry
from quizsvc.items.banks.loading import load_bank
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.reviewing import ItemState
from quizsvc.services.auditing import note
from quizsvc.services.bank_texts import keep_written
from quizsvc.services.shelf import entry_text
from quizsvc.store import banks, cards, pictures
from quizsvc.store.banks import NewVersion, StoredVersion

LARGEST_PICTURE = 30_000_000  # pixels


@dataclass(frozen=True, slots=True)
class LoadedBank:
    """What became of a bank's items."""

    bank_id: str
    title: str
    new: int  # items that were not there
    changed: int  # items that got a new version
    unchanged: int


def bank_files(path: Path) -> tuple[Path, ...]:
    """Return the bank file at the path, or all of a folder (not of folders in it)."""
    return tuple(sorted(path.glob("*.toml"))) if path.is_dir() else (path,)


def keep_bank(
    connection: Connection,
    actor: Actor | None,
    path: Path,
    *,
    media: Path,
    shop_id: int | None,
    now: datetime,
) -> LoadedBank:
    """Store the bank of a file, approved; all of it or nothing.

    Raises:
        InputError: the file is no sound bank, or a picture is missing or unreadable.
        ConflictError: an item changed and kept its version.
    """
    bank = load_bank(path)
    banks.add_bank(connection, bank.id, bank.title, shop_id=shop_id, now=now)
    known = {(one.entry, one.version): one for one in banks.versions_of_bank(connection, bank.id)}
    fresh = [entry for entry in bank.entries if _is_new(entry, known)]
    for entry in fresh:
        _keep_picture(connection, entry, media, shop_id=shop_id, now=now)
        banks.add_version(
            connection,
            new_version(entry),
            state=ItemState.APPROVED,
            author=actor.person_id if actor else None,
            now=now,
        )
    keep_written(connection, bank, path.read_text(encoding="utf-8"))
    refresh_cards(connection, bank.id, [entry.id for entry in fresh], now=now)
    loaded = _report(bank, fresh, {one.entry for one in known.values()})
    note(
        connection,
        actor,
        Action.BANK_LOADED,
        f"bank {bank.id}",
        now=now,
        shop_id=shop_id,
        new=loaded.new,
        changed=loaded.changed,
    )
    return loaded


def refresh_cards(
    connection: Connection, bank_id: str, entries: Sequence[str], *, now: datetime
) -> None:
    """Write the cards of a bank's entries anew."""
    ids = [banks.item_id_of(connection, bank_id, entry) for entry in entries]
    cards.refresh(connection, ids, now=now)


def _is_new(entry: Entry, known: dict[tuple[str, int], StoredVersion]) -> bool:
    stored = known.get((entry.id, entry.version))
    if stored is not None and stored.content_hash != entry.content_hash:
        raise ConflictError(
            f"item {entry.id} of bank {entry.bank} was changed, but its version was not.",
            field=f"{entry.id}: version",
            value=entry.version,
            remedy=f"Set version = {entry.version + 1}; earlier answers keep theirs.",
        )
    return stored is None


def new_version(entry: Entry) -> NewVersion:
    written = entry.written
    return NewVersion(
        bank_id=entry.bank,
        entry=entry.id,
        version=entry.version,
        topic=written.topic,
        level=written.level.value,
        kind=written.kind,
        content=entry_text(entry),
        content_hash=entry.content_hash,
    )


def _keep_picture(
    connection: Connection, entry: Entry, media: Path, *, shop_id: int | None, now: datetime
) -> None:
    name = entry.written.picture
    if not name:
        return
    file = media / name
    try:
        with Image.open(file) as picture:
            width, height = picture.size
    except (OSError, UnidentifiedImageError) as error:
        raise _unusable(entry, f"the picture cannot be read ({error}).") from error
    if width * height > LARGEST_PICTURE:
        raise _unusable(entry, f"the picture has {width} × {height} pixels.")
    pictures.keep_media(
        connection,
        file=name,
        content_hash=sha256(file.read_bytes()).hexdigest(),
        width=width,
        height=height,
        alt=" ".join(entry.written.picture_alt.split()),
        shop_id=shop_id,
        now=now,
    )


def _unusable(entry: Entry, problem: str) -> InputError:
    return InputError(
        problem,
        field=f"{entry.id}: picture",
        value=entry.written.picture,
        remedy="Put a PNG, JPEG or WebP of at most 30 million pixels into media/.",
    )


def _report(bank: Bank, fresh: list[Entry], known: set[str]) -> LoadedBank:
    changed = sum(entry.id in known for entry in fresh)
    return LoadedBank(
        bank.id,
        bank.title,
        new=len(fresh) - changed,
        changed=changed,
        unchanged=len(bank.entries) - len(fresh),
    )
