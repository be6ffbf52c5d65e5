"""The form of a sheet laid out by sections: each field with its text and what is said of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from quizsvc.services.sheet_check import Said
from quizsvc.sheets.schema import EngineSheet, Part
from quizsvc.sheets.words import row_words
from quizsvc.web.sheets.fields import FieldKind, SheetField, fields_of
from quizsvc.web.sheets.typed import Tree, names_in
from quizsvc.web.words import slug

SECTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("engine", "Engine", ("title", "id", "invented", "built_from", "built_to")),
    ("layout", "Layout", ("layout", "marks_position", "safe_position")),
    ("pistons", "Pistons and crank", ("piston",)),
    ("valves", "Valves", ("valves",)),
    ("shafts", "Shafts", ("shafts",)),
    ("drives", "Drives: wheels, marks, tensioners", ("drives",)),
    ("sensors", "Sensor wheels", ("sensors",)),
    ("fasteners", "Fasteners", ("fasteners",)),
    ("pulleys", "Pulleys and accessory belt", ("damper_diameter_mm", "pulleys", "accessory_belt")),
    ("cautions", "Cautions", ("cautions",)),
)
_SUGGESTED = {"bank": "banks", "shaft": "shafts", "driver": "wheels", "wheel": "wheels"}
_SUGGESTED |= {"from_wheel": "wheels", "to_wheel": "wheels"}


@dataclass(frozen=True, slots=True)
class Control:
    """One field to fill in."""

    name: str
    id: str
    field: SheetField
    text: str
    said: tuple[Said, ...]
    names: str = ""  # id of the list of names that fit here

    @property
    def wrong(self) -> bool:
        return any(one.hinders for one in self.said)


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its fields, tables within it and lists of rows."""

    name: str
    id: str
    title: str
    controls: tuple[Control, ...]
    tables: tuple[Table, ...]
    lists: tuple[Rows, ...]
    said: tuple[Said, ...]
    optional: bool = False
    place: int = 0  # of a row, from 1


@dataclass(frozen=True, slots=True)
class Rows:
    name: str
    id: str
    title: str
    row: str  # what one row is called
    rows: tuple[Table, ...]
    said: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Section:
    id: str
    title: str
    table: Table
    said: int  # findings somewhere in it
    stated: str  # how much is in it: "3 drives"


class SheetForm:
    """Lay out a tree with what is said of its places."""

    def __init__(self, tree: Tree, said: tuple[Said, ...] = ()) -> None:
        self.tree = tree
        self._by_place: dict[str, list[Said]] = {}
        known = set(_places(EngineSheet, tree, ""))
        self.placed = [(_nearest(one.field, known), one) for one in said]
        self.listed = [(place, place_words(place), one) for place, one in self.placed]
        for place, one in self.placed:
            self._by_place.setdefault(place, []).append(one)

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        return tuple(self._section(*section) for section in SECTIONS)

    @cached_property
    def names(self) -> Mapping[str, tuple[str, ...]]:
        """Return the lists of names to choose from, by id."""
        drives = self.tree.get("drives", [])
        return {
            "names-banks": tuple(names_in(self.tree.get("layout", {}).get("banks"))),
            "names-shafts": tuple(names_in(self.tree.get("shafts"))),
            **{
                f"names-wheels-{number}": tuple(names_in(drive.get("wheels")))
                for number, drive in enumerate(drives, 1)
            },
        }

    @property
    def drives(self) -> list[str]:
        """Return the titles of the drives, or their numbers."""
        rows = self.tree.get("drives", [])
        return [row.get("title") or f"Drive {number}" for number, row in enumerate(rows, 1)]

    @property
    def general(self) -> tuple[Said, ...]:
        return tuple(self._by_place.get("", ()))

    def _section(self, section_id: str, title: str, names: tuple[str, ...]) -> Section:
        chosen = tuple(one for one in fields_of(EngineSheet) if one.name in names)
        ordered = tuple(sorted(chosen, key=lambda one: names.index(one.name)))
        table = self._table(ordered, self.tree, "", title)
        said = sum(1 for place, _ in self.placed if re.split(r"[.\[]", place)[0] in names)
        rows = [(len(one.rows), one.row) for one in table.lists]
        stated = ", ".join(f"{count} {row}{'' if count == 1 else 's'}" for count, row in rows)
        return Section(section_id, title, table, said, stated)

    def _table(
        self,
        fields: tuple[SheetField, ...],
        tree: Mapping[str, Any],
        name: str,
        title: str,
        *,
        optional: bool = False,
        place: int = 0,
    ) -> Table:
        at = {one.name: f"{name}.{one.name}" if name else one.name for one in fields}
        tables, lists, controls = [], [], []
        for field in fields:
            here = at[field.name]
            if field.kind is FieldKind.TABLE and field.part:
                inner = tree.get(field.name, {})
                tables.append(
                    self._table(
                        fields_of(field.part), inner, here, field.words.label,
                        optional=field.optional,
                    )
                )  # fmt: skip
            elif field.kind is FieldKind.ROWS and field.part:
                lists.append(self._rows(field, field.part, tree.get(field.name, []), here))
            else:
                text = tree.get(field.name, field.default)
                controls.append(
                    Control(here, slug(here), field, text, self._said(here), _names(here, field))
                )
        return Table(
            name, slug(name), title, tuple(controls), tuple(tables), tuple(lists),
            self._said(name) if name else (), optional, place,
        )  # fmt: skip

    def _rows(self, field: SheetField, part: type[Part], rows: list[Tree], name: str) -> Rows:
        word = row_words(part)
        tables = tuple(
            self._table(fields_of(part), row, f"{name}[{number}]", _row_title(word, row, number),
                        place=number)
            for number, row in enumerate(rows, 1)
        )  # fmt: skip
        return Rows(name, slug(name), field.words.label, word, tables, self._said(name))

    def _said(self, place: str) -> tuple[Said, ...]:
        return tuple(self._by_place.get(place, ()))


def place_words(name: str) -> str:
    """Return a place in the words of the form.

    >>> place_words("drives[2].mark_pins[1].pins")
    'Drive 2, pin count 1, pins'
    """
    part: type[Part] | None = EngineSheet
    words = []
    for step in name.split("."):
        field, _, row = step.partition("[")
        found = next((one for one in fields_of(part) if one.name == field), None) if part else None
        if found is None:
            return name
        number = row.rstrip("]")
        if number and found.part:
            words.append(f"{row_words(found.part)} {number}")
        else:
            words.append(found.words.label[:1].lower() + found.words.label[1:])
        part = found.part
    said = ", ".join(words)
    return said[:1].upper() + said[1:]


def _row_title(word: str, row: Tree, number: int) -> str:
    named = row.get("title") or row.get("id") or row.get("kind") or ""
    return f"{word.capitalize()} {number}{': ' if named else ''}{named[:60]}"


def _names(name: str, field: SheetField) -> str:
    of = _SUGGESTED.get(field.name, "")
    if of != "wheels":
        return f"names-{of}" if of else ""
    drive = re.match(r"drives\[(\d+)\]", name)
    return f"names-wheels-{drive[1]}" if drive else ""


def _places(part: type[Part], tree: Mapping[str, Any], name: str) -> Iterator[str]:
    """Yield every place of the form that something can be said of."""
    for field in fields_of(part):
        at = f"{name}.{field.name}" if name else field.name
        yield at
        if field.kind is FieldKind.TABLE and field.part:
            yield from _places(field.part, tree.get(field.name, {}), at)
        elif field.kind is FieldKind.ROWS and field.part:
            for number, row in enumerate(tree.get(field.name, []), 1):
                yield f"{at}[{number}]"
                yield from _places(field.part, row, f"{at}[{number}]")


def _nearest(name: str, known: set[str]) -> str:
    """Return the place itself or the nearest around it that the form has; "" for none."""
    while name and name not in known:
        name = name[: max(name.rfind("."), name.rfind("["), 0)]
    return name
