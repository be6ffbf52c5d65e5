"""What an item is called, family or hand-written, from its reference alone."""

from __future__ import annotations

from quizsvc.items.family import all_families


def item_title(item_ref: str) -> str:
    """Return the family's title, or a bank item's name in words."""
    family = all_families().get(item_ref)
    if family is not None:
        return family.title
    return item_ref.rpartition("/")[2].replace("-", " ")
