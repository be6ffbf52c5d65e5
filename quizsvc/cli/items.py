"""`quizsvc items`: list the families and draw items from an engine sheet."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

import click

from quizsvc.cli.table import table_lines
from quizsvc.errors import InputError
from quizsvc.items.as_json import figure_alt, item_line
from quizsvc.items.family import Family, NotForThisSheet, all_families, draw_item, find_family
from quizsvc.items.model import Item, Kind, Level
from quizsvc.scoring.marking import right_words
from quizsvc.sheets.check import errors_of
from quizsvc.sheets.loading import find_sheet
from quizsvc.sheets.schema import EngineSheet

MOST_ITEMS = 1_000_000
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@click.group()
def items() -> None:
    """List families of questions and draw items."""


@items.command()
@click.option("--json", "as_json", is_flag=True, help="JSON Lines: one object per family.")
def families(*, as_json: bool) -> None:
    """List every family: topic, levels, kinds and the misconceptions behind its wrong options."""
    listed = all_families().values()
    if as_json:
        for family in listed:
            click.echo(json.dumps(_family_json(family), ensure_ascii=False))
        return
    head = ("family", "topic", "levels", "kinds", "misconceptions")
    rows = [
        (f.id, f.topic, ", ".join(f.levels), ", ".join(f.kinds), ", ".join(f.misconceptions))
        for f in listed
    ]
    for line in table_lines(head, rows):
        click.echo(line)
    click.echo(f"\n{len(rows)} families")


@items.command()
@click.option("--sheet", "sheet_name", required=True, help="A shipped sheet's id, or a TOML file.")
@click.option("--family", "names", multiple=True, metavar="ID", help="Repeatable; else all.")
@click.option("--count", type=click.IntRange(1, MOST_ITEMS), default=1, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--level", type=click.Choice([str(level) for level in Level]))
@click.option("--kind", type=click.Choice([str(kind) for kind in Kind]))
@click.option("--json", "as_json", is_flag=True, help="JSON Lines: one object per item.")
def draw(
    *,
    sheet_name: str,
    names: Sequence[str],
    count: int,
    seed: int,
    level: str | None,
    kind: str | None,
    as_json: bool,
) -> None:
    """Draw items, turn and turn about from each family; the same command draws the same items.

    Families that the sheet gives nothing to ask about, or that lack the level or kind, are left
    out unless they were named.
    """
    sheet = find_sheet(sheet_name)
    _warn_of_errors(sheet)
    wish = {"level": Level(level) if level else None, "kind": Kind(kind) if kind else None}
    chosen = _named(names, wish) if names else _offering(wish)
    drawn = _drawn(sheet, chosen, count, seed, wish, leave_out=not names)
    for number, item in enumerate(drawn, start=1):
        click.echo(item_line(item) if as_json else _in_words(number, item))


def _warn_of_errors(sheet: EngineSheet) -> None:
    """Say on standard error that the sheet cannot be right; its questions may mislead."""
    if found := errors_of(sheet):
        click.echo(
            f"Warning: sheet {sheet.id} has {len(found)} error{'s' if len(found) > 1 else ''}; "
            "`quizsvc sheet check` lists them.",
            err=True,
        )


def _named(names: Sequence[str], wish: dict[str, Any]) -> list[Family]:
    chosen = [find_family(name) for name in dict.fromkeys(names)]
    for family in chosen:
        if not _offers(family, wish):
            raise InputError(
                "the family has no such level or kind.",
                field="family",
                value=family.id,
                remedy=f"It has {', '.join(family.levels)}; {', '.join(family.kinds)}.",
            )
    return chosen


def _offering(wish: dict[str, Any]) -> list[Family]:
    return [family for family in all_families().values() if _offers(family, wish)]


def _offers(family: Family, wish: dict[str, Any]) -> bool:
    return wish["level"] in {None, *family.levels} and wish["kind"] in {None, *family.kinds}


def _drawn(
    sheet: EngineSheet,
    chosen: list[Family],
    count: int,
    seed: int,
    wish: dict[str, Any],
    *,
    leave_out: bool,
) -> Iterator[Item]:
    """Yield ``count`` items; those of the n-th round have the seed "seed.n"."""
    found, round_number, left = 0, 0, list(chosen)
    while left and found < count:
        for family in list(left):
            if found == count:
                return
            try:
                item = draw_item(family, sheet, f"{seed}.{round_number}", **wish)
            except NotForThisSheet:
                if not leave_out:
                    raise
                left.remove(family)
                continue
            found += 1
            yield item
        round_number += 1
    if found < count:
        raise InputError(
            "no family finds anything to ask.",
            field="sheet",
            value=sheet.id,
            remedy="Check the sheet, or ask for another level or kind.",
        )


def _family_json(family: Family) -> dict[str, Any]:
    return {
        "family": family.id,
        "version": family.version,
        "topic": family.topic,
        "title": family.title,
        "levels": family.levels,
        "kinds": family.kinds,
        "gives": family.gives,
        "asks": family.asks,
        "key_follows": family.key_follows,
        "misconceptions": family.misconceptions,
        "drive": family.drive or "any",
        "caution": family.caution,
    }


def _in_words(number: int, item: Item) -> str:
    lines = [
        f"{number}. [{item.family}, {item.topic}, {item.level}, {item.kind}] {item.prompt}",
        *_shown(item),
        f"   Answer: {right_words(item)}{_tolerance(item)}",
        *(f"   Step: {step.text}" for step in item.steps),
    ]
    if alt := figure_alt(item):
        lines.append(f"   Figure: {alt}")
    if item.caution:
        lines.append(f"   Caution: {item.caution}")
    return "\n".join(lines) + "\n"


def _shown(item: Item) -> Iterator[str]:
    for letter, option in zip(LETTERS, item.shown_options, strict=False):
        why = f"   ({option.misconception})" if option.misconception else ""
        yield f"   {letter}  {option.text}{why}"
    if item.things:
        yield f"   Put in order: {'; '.join(item.things)}"
    if item.left:
        yield f"   Match: {'; '.join(item.left)} / {'; '.join(item.right)}"


def _tolerance(item: Item) -> str:
    if not item.key.tolerance:
        return ""
    return f" (± {item.key.tolerance:g}{' ' if item.asked.unit else ''}{item.asked.unit})"
