"""A bank as a QTI 3.0 content package, and a package as a bank with a report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path

from PIL import Image
from pydantic import ValidationError

from quizsvc.errors import InputError
from quizsvc.interchange.qti.archive import pack, unpack
from quizsvc.interchange.qti.interactions import Size
from quizsvc.interchange.qti.listing import Listing, read_listing
from quizsvc.interchange.qti.manifest import (
    MANIFEST,
    TEST,
    item_path,
    manifest_element,
    picture_path,
    test_element,
)
from quizsvc.interchange.qti.names import identifier_of, name_of
from quizsvc.interchange.qti.pictures import Pictures
from quizsvc.interchange.qti.reading import read_item
from quizsvc.interchange.qti.report import Fate, Filling, Imported, Note, shortened
from quizsvc.interchange.qti.source import Head, Source
from quizsvc.interchange.qti.writing import document, item_element
from quizsvc.interchange.qti.xml_safety import parse_xml
from quizsvc.interchange.sound_bank import sound_bank
from quizsvc.items.banks.schema import AnyItem, WrittenBank

Progress = Callable[[int, int], None]  # items done, items in all


def export_package(bank: WrittenBank, picture: Callable[[str], bytes]) -> bytes:
    """Return the bank as a content package; ``picture`` gives the bytes of a picture by name.

    Raises:
        InputError: a picture is missing or can't be read, a text can't be written as XML.
    """
    names = sorted({item.picture for item in bank.items if item.picture})
    contents = {name: picture(name) for name in names}
    sizes = {name: _size(name, content) for name, content in contents.items()}
    files = {MANIFEST: document(manifest_element(bank, names)), TEST: document(test_element(bank))}
    for item in bank.items:
        files[item_path(item)] = document(item_element(bank, item, sizes.get))
    return pack(files | {picture_path(name): content for name, content in contents.items()})


def picture_in(folder: Path) -> Callable[[str], bytes]:
    """Return a function that reads a picture of a folder."""

    def read(name: str) -> bytes:
        try:
            return (folder / name).read_bytes()
        except OSError as error:
            raise InputError(
                f"there is no such file in {folder}.",
                field="picture",
                value=name,
                remedy="Put it there, or name another folder of pictures.",
            ) from error

    return read


def import_package(
    content: bytes, filling: Filling | None = None, progress: Progress | None = None
) -> Imported:
    """Return what a package holds as a bank, and item by item what could not come over.

    Raises:
        InputError: the package can't be read: no whole archive, unsafe or broken XML, paths that
            lead out of it, an identifier twice, no items.
    """
    files = unpack(content)
    listing = read_listing(files)
    filling = filling or Filling()
    pictures = Pictures(files)
    items = _items(listing, files, filling, pictures, progress)
    _tell_unused(listing, files, pictures)
    bank, unsound = sound_bank(_written(listing.head, items, filling)) if items else (None, ())
    shown = {item.picture for item in bank.items} if bank else set()
    kept = {name: one for name, one in pictures.contents.items() if name in shown}
    return Imported(bank, len(listing.items), kept, _joined(listing, unsound))


def _items(
    listing: Listing,
    files: dict[str, bytes],
    filling: Filling,
    pictures: Pictures,
    progress: Progress | None,
) -> list[AnyItem]:
    items: list[AnyItem] = []
    seen: dict[str, str] = {}
    names: set[str] = set()
    for done, path in enumerate(listing.items, 1):
        if path not in files:
            note = Note(Fate.LEFT_OUT, path, "the item.", "its file is missing.", "Add it.")
            listing.notes.append(note)
            continue
        root = parse_xml(files[path], path)
        source = Source(path, files[path], root, listing.head, filling, pictures)
        _require_new(seen, source.identifier, path)
        name = name_of(source.identifier, names)
        names.add(name)
        item = read_item(source, name)
        if item is not None:
            items.append(item)
            listing.identifiers[name] = source.identifier
            _tell_name(source, name)
        listing.notes += source.notes
        if progress is not None:
            progress(done, len(listing.items))
    return items


def _joined(listing: Listing, unsound: tuple[Note, ...]) -> tuple[Note, ...]:
    """Return all there is to tell; of an item that is left out, only why."""
    told = [replace(note, item=listing.identifiers[note.item]) for note in unsound]
    left_out = {note.item for note in told}
    return (*(note for note in listing.notes if note.item not in left_out), *told)


def _require_new(seen: dict[str, str], identifier: str, path: str) -> None:
    if identifier in seen:
        raise InputError(
            f"the items {seen[identifier]} and {path} have the same identifier.",
            field="identifier",
            value=identifier,
            remedy="Give each item of the package its own.",
        )
    seen[identifier] = path


def _tell_name(source: Source, name: str) -> None:
    if identifier_of(name) != source.identifier:
        what = f"its identifier became {name!r}."
        why = "ids here have small letters, digits and hyphens."
        source.tell(Fate.CHANGED, what, why, "Nothing, if nobody refers to the old one.")


def _tell_unused(listing: Listing, files: dict[str, bytes], pictures: Pictures) -> None:
    unused = sorted(files.keys() - listing.listed - pictures.names.keys() - {MANIFEST})
    if unused:
        what = f"{len(unused)} files: {shortened(', '.join(unused), 300)}."
        listing.tell(Fate.LOST, what, "the manifest does not name them.", "Name them there.")
    read = {*pictures.names, *listing.items, MANIFEST}
    other = sorted(
        path for path in listing.listed & files.keys() - read if not path.endswith(".xml")
    )
    if other:
        what = f"{len(other)} files: {shortened(', '.join(other), 300)}."
        why = "they are no pictures that an item shows."
        listing.tell(Fate.LOST, what, why, "Look whether an item needs them.")


def _written(head: Head, items: list[AnyItem], filling: Filling) -> WrittenBank:
    data = {
        "schema_version": 1,
        "id": filling.bank_id or name_of(head.id or "imported"),
        "title": shortened(head.title, 400) or "Imported items",
        "about": head.about,
        "author": head.author or filling.author,
        "caution_first": head.caution_first,
        "cautions": head.cautions,
        "items": items,
    }
    try:
        return WrittenBank.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise InputError(
            f"what the package says to all its items can't be kept: {first['msg']}.",
            field=" ".join(map(str, first["loc"])),
            value=shortened(str(first["input"])),
            remedy="Mend it in the source.",
        ) from error


def _size(name: str, content: bytes) -> Size:
    try:
        with Image.open(BytesIO(content)) as opened:
            return opened.size
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise InputError(
            "this is no picture that can be read.",
            field="picture",
            value=name,
            remedy="Put the picture there anew.",
        ) from error
