"""Pictures for hand-written items: taken in, drawn anew without what was hidden in them, kept."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from PIL import Image, ImageOps
from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.figures.photographs import open_photograph
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import pictures
from quizsvc.store.pictures import PictureRow

MOST_BYTES = 15_000_000  # as sent; a telephone's photograph has some 5 MB
MOST_PIXELS = 40_000_000  # as sent, looked at before decoding
LONGEST_SIDE = 1600  # as kept; enough for a wide screen
MOST_KEPT = 900_000  # bytes; above this a drawing is kept as a photograph
FEWEST_ALT_WORDS = 6
FORMATS = ("JPEG", "PNG", "WEBP")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]*\.(png|jpg|webp)", re.ASCII)


@dataclass(frozen=True, slots=True)
class SentPicture:
    """What somebody sent: a name for it, its bytes, and what is seen on it."""

    name: str
    content: bytes
    alt: str


def keep_picture(house: House, actor: Actor, sent: SentPicture, *, now: datetime) -> str:
    """Take a picture in and return the file name by which items call it.

    The picture is decoded and drawn anew: position data, thumbnails and comments stay behind.

    Raises:
        InputError: no text says what is seen, or no picture of the formats, or too large.
    """
    require(actor, May.WRITE_ITEMS)
    alt = " ".join(sent.alt.split())
    if len(alt.split()) < FEWEST_ALT_WORDS:
        raise InputError(
            "the picture has no text that says what is seen.",
            field="alternative text",
            value=alt,
            remedy=f"Write at least {FEWEST_ALT_WORDS} words: what is seen, not what it means.",
        )
    content, kind, size = redrawn(sent.content)
    digest = sha256(content).hexdigest()
    file = f"{_slug(sent.name)}-{digest[:10]}.{kind}"
    with house.write() as connection:
        if pictures.find(connection, file, actor.shop_id) is None:
            _keep(connection, actor, file, content, digest, size, alt, now)
    return file


def redrawn(content: bytes) -> tuple[bytes, str, tuple[int, int]]:
    """Return a picture drawn anew, its kind ("png" or "jpg") and its size in pixels."""
    opened = open_photograph(
        content, most_bytes=MOST_BYTES, most_pixels=MOST_PIXELS, formats=FORMATS
    )
    upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    photograph = opened.format == "JPEG"
    encoded = _encoded(upright, photograph=photograph)
    if len(encoded) > MOST_KEPT and not photograph:
        photograph, encoded = True, _encoded(upright, photograph=True)
    return encoded, "jpg" if photograph else "png", upright.size


def pictures_for(house: House, actor: Actor) -> tuple[PictureRow, ...]:
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        return pictures.pictures_for(connection, actor.shop_id)


def picture_for_author(house: House, actor: Actor, file: str) -> bytes:
    """Return the bytes of a picture of the actor's shop or a shared one."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        if pictures.find(connection, file, actor.shop_id) is None:
            raise _no_picture(file)
    return picture_bytes(house, file)


def picture_bytes(house: House, file: str) -> bytes:
    """Return the bytes of a picture, sent in or shipped; who may see it was checked before."""
    if not _NAME.fullmatch(file):
        raise _no_picture(file)
    with house.read() as connection:
        kept = pictures.bytes_of(connection, file)
    if kept is not None:
        return kept
    path = house.settings.media / file
    if not path.is_file():
        raise _no_picture(file)
    return path.read_bytes()


@contextmanager
def folder_of(house: House, connection: Connection, files: Iterable[str]) -> Iterator[Path]:
    """Give a folder in which the named pictures lie, as far as there are any."""
    with TemporaryDirectory(prefix="quizsvc-pictures-") as name:
        folder = Path(name)
        for file in {one for one in files if _NAME.fullmatch(one)}:
            kept = pictures.bytes_of(connection, file)
            shipped = house.settings.media / file
            if kept is not None:
                (folder / file).write_bytes(kept)
            elif shipped.is_file():
                (folder / file).symlink_to(shipped.resolve())
        yield folder


def _keep(
    connection: Connection,
    actor: Actor,
    file: str,
    content: bytes,
    digest: str,
    size: tuple[int, int],
    alt: str,
    now: datetime,
) -> None:
    pictures.keep_media(
        connection,
        file=file,
        content_hash=digest,
        width=size[0],
        height=size[1],
        alt=alt,
        shop_id=actor.shop_id,
        now=now,
    )
    pictures.add_bytes(connection, file, content)
    note(connection, actor, Action.PICTURE_KEPT, f"picture {file}", now=now)


def _encoded(picture: Image.Image, *, photograph: bool) -> bytes:
    """Encode pixels only: a fresh image carries no metadata."""
    mode = "RGB" if photograph or "A" not in picture.getbands() else "RGBA"
    plain = _on_paper(picture) if photograph else picture.convert(mode)
    fresh = Image.new(plain.mode, plain.size)
    fresh.paste(plain)
    into = BytesIO()
    if photograph:
        fresh.save(into, "JPEG", quality=85, optimize=True)
    else:
        fresh.save(into, "PNG", optimize=True)
    return into.getvalue()


def _on_paper(picture: Image.Image) -> Image.Image:
    """Return the picture in full colour; what is see-through lies on white."""
    whole = picture.convert("RGBA")
    paper = Image.new("RGBA", whole.size, "white")
    return Image.alpha_composite(paper, whole).convert("RGB")


def _slug(name: str) -> str:
    stem = re.sub(r"[^a-z0-9]+", "-", Path(name).stem.casefold()).strip("-")
    return stem[:40].strip("-") or "picture"


def _no_picture(file: str) -> NotFoundError:
    return NotFoundError(
        "there is no such picture here.",
        field="picture",
        value=file[:80],
        remedy="Choose one of those on the pictures page.",
    )
