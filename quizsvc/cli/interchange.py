"""`quizsvc bank export` and `quizsvc bank import`: banks to and from QTI 3.0 packages and CSV."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import click

from quizsvc.errors import ConflictError, InputError
from quizsvc.interchange.bank_csv import export_csv, import_csv
from quizsvc.interchange.bank_toml import bank_text
from quizsvc.interchange.qti.package import export_package, import_package, picture_in
from quizsvc.interchange.qti.report import Fate, Filling, Imported, Note
from quizsvc.items.banks.loading import MEDIA, load_bank
from quizsvc.items.banks.schema import WrittenBank
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS

LARGEST_BYTES = 100_000_000


@click.command("export")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--to", "form", type=click.Choice(["qti", "csv"]), required=True, help="The form.")
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--media",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the pictures; else the folder media beside the file or beside its folder.",
)
def export_bank(path: Path, form: str, out: Path, media: Path | None) -> None:
    """Write a bank file as a QTI 3.0 content package (.zip) or, if simple, as CSV.

    What the form can't hold is told item by item.
    """
    bank = load_bank(path).written
    if form == "qti":
        _write(out, export_package(bank, picture_in(media or _media_of(path))))
        click.echo(f"{_items(len(bank.items))} in {out}.")
        return
    text, notes = export_csv(bank)
    _tell(notes)
    _write(out, text.encode("utf-8-sig"))
    left_out = sum(note.fate is Fate.LEFT_OUT for note in notes)
    click.echo(f"{_items(len(bank.items) - left_out)} in {out}, {left_out} left out.")


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--into",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="Bank file to write; pictures go into the folder media beside it.",
)
@click.option("--author", default="imported", show_default=True, help="Where none is stated.")
@click.option(
    "--topic",
    type=click.Choice([topic.id for topic in TOPICS]),
    default="procedure",
    show_default=True,
    help="Where none is stated.",
)
@click.option(
    "--level",
    type=click.Choice([level.value for level in Level]),
    default=Level.RECALL.value,
    show_default=True,
    help="Where none is stated.",
)
def import_bank(file: Path, into: Path, author: str, topic: str, level: str) -> None:
    """Read a QTI 3.0 content package (.zip) or a table (.csv) into a new bank file.

    Each item that could not come over as it stood is named, with why and what to do.
    """
    content = _read(file)
    reader = import_csv if file.suffix.casefold() == ".csv" else import_package
    bank_id = into.stem if file.suffix.casefold() == ".csv" else ""
    filling = Filling(bank_id=bank_id, author=author, topic=topic, level=Level(level))
    imported = reader(content, filling, _progress())
    _tell(imported.notes)
    if imported.bank is None:
        raise InputError(
            f"none of its {_items(imported.items_found)} could be brought over.",
            field="file",
            value=str(file),
            remedy="The lines above say what stands in the way.",
        )
    _keep(imported, imported.bank, into)
    click.echo(_summary(imported, into))


def _media_of(path: Path) -> Path:
    """Return the folder of a bank file's pictures, as `quizsvc bank check` looks for it."""
    for folder in (path.parent / "media", path.parent.parent / "media"):
        if folder.is_dir():
            return folder
    return MEDIA


def _read(file: Path) -> bytes:
    try:
        if file.stat().st_size > LARGEST_BYTES:
            problem = f"the file has more than {LARGEST_BYTES // 10**6} MB."
            raise InputError(problem, field="file", value=str(file), remedy="Split it.")
        return file.read_bytes()
    except OSError as error:
        raise InputError(
            f"it can't be read: {error.strerror}.",
            field="file",
            value=str(file),
            remedy="Name a .zip or .csv file.",
        ) from error


def _keep(imported: Imported, bank: WrittenBank, into: Path) -> None:
    """Write the bank file and its pictures; nothing that is there is written over."""
    media = into.parent / "media"
    new = {media / name: content for name, content in imported.pictures.items()}
    for path, content in new.items():
        if path.exists() and path.read_bytes() != content:
            _refuse(path, "another picture of this name is there.")
    if into.exists():
        _refuse(into, "the file is there already.")
    if new:
        media.mkdir(parents=True, exist_ok=True)
    for path, content in new.items():
        _write(path, content)
    _write(into, bank_text(bank).encode())


def _refuse(path: Path, problem: str) -> None:
    raise ConflictError(problem, field="file", value=str(path), remedy="Import elsewhere.")


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError(
            f"it can't be written: {error.strerror}.",
            field="file",
            value=str(path),
            remedy="Name a file in a folder that is there.",
        ) from error


def _progress() -> Callable[[int, int], None]:
    def told(done: int, total: int) -> None:
        if done % 1000 == 0 and done < total:
            click.echo(f"{done} of {total} items read.", err=True)

    return told


def _tell(notes: tuple[Note, ...]) -> None:
    for note in notes:
        click.echo(note)


def _summary(imported: Imported, into: Path) -> str:
    counted = Counter(note.fate for note in imported.notes)
    told = ", ".join(f"{counted[fate]} {fate}" for fate in Fate if counted[fate])
    kept = f"{imported.items_kept} of {_items(imported.items_found)} in {into}"
    return f"{kept}; notes: {told}." if told else f"{kept}."


def _items(number: int) -> str:
    return f"{number} item" if number == 1 else f"{number} items"
