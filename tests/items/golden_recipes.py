"""Fingerprints of a few items, so that a recipe stored years ago still gives the same item.

Run this file to write the fingerprints anew, after a family's version or a shipped sheet's
revision was raised on purpose: ``python tests/items/golden_recipes.py``.
"""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path

from quizsvc.items.as_json import item_json
from quizsvc.items.family import all_families, draw_item, find_family, suits_drives
from quizsvc.items.model import Item
from quizsvc.sheets.loading import shipped_sheets

STORED = Path(__file__).with_name("golden_items.json")
TOPICS = {
    "cycle",
    "piston",
    "marks",
    "valves",
    "chain",
    "wear",
    "signals",
    "fasteners",
    "accessory",
}
SEEDS = ("golden 1", "golden 2")
# What a person is asked and how it is marked; explanations and pictures may be bettered.
NAMES = ("family", "version", "sheet", "revision", "level", "kind", "prompt", "givens", "asked")


def fingerprint(item: Item) -> str:
    """Return 16 hex digits of what is asked, offered and right."""
    told = item_json(item)
    asked = {name: told[name] for name in (*NAMES, "key", "options")}
    shown = [item.things, item.left, item.right, [place.name for place in item.places]]
    text = json.dumps([asked, shown, str(item.bench)], ensure_ascii=False, sort_keys=True)
    return sha256(text.encode()).hexdigest()[:16]


def recipes() -> list[tuple[str, str, str]]:
    families = [family for family in all_families().values() if family.topic in TOPICS]
    return [
        (family.id, sheet.id, seed)
        for family in families
        for sheet in shipped_sheets().values()
        if suits_drives(family, sheet)
        for seed in SEEDS
    ]


def draw(family_id: str, sheet_id: str, seed: str) -> Item:
    return draw_item(find_family(family_id), shipped_sheets()[sheet_id], seed)


def name_of(family_id: str, sheet_id: str, seed: str) -> str:
    version = find_family(family_id).version
    revision = shipped_sheets()[sheet_id].revision
    return f"{family_id} v{version}, {sheet_id} r{revision}, {seed}"


def write() -> None:
    found = {name_of(*recipe): fingerprint(draw(*recipe)) for recipe in recipes()}
    STORED.write_text(json.dumps(found, indent=0, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
