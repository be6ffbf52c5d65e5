"""What a drive's parts are called: a chain's pins on sprockets, a belt's teeth on pulleys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from quizsvc.sheets.schema import Drive, EngineSheet

DriveKind = Literal["chain", "belt"]


@dataclass(frozen=True, slots=True)
class DriveWords:
    """The words of one kind of drive.

    ``pin`` and ``pins`` are what is counted between two marks, ``wheel`` what carries a mark,
    ``end`` the end of the engine from which one looks.
    """

    loop: DriveKind
    pin: str
    pins: str
    wheel: str
    wheels: str
    end: str


_WORDS: Mapping[str, DriveWords] = MappingProxyType(
    {
        "chain": DriveWords("chain", "pin", "pins", "sprocket", "sprockets", "chain end"),
        "belt": DriveWords("belt", "tooth", "teeth", "pulley", "pulleys", "belt end"),
    }
)


def words_for(kind: DriveKind) -> DriveWords:
    """Return the words of a kind of drive.

    >>> words_for("belt").pins
    'teeth'
    """
    return _WORDS[kind]


def words_of(drive: Drive) -> DriveWords:
    """Return the words of a sheet's drive."""
    return _WORDS[drive.kind]


def has_drive(sheet: EngineSheet, kind: DriveKind) -> bool:
    """Say whether a sheet has a drive of this kind."""
    return any(drive.kind == kind for drive in sheet.drives)


def words_of_sheet(sheet: EngineSheet) -> DriveWords:
    """Return the words of a sheet's drives: a belt's where there are belts only."""
    only_belts = has_drive(sheet, "belt") and not has_drive(sheet, "chain")
    return _WORDS["belt" if only_belts else "chain"]
