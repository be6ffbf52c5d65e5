"""The same family version, sheet revision and seed give the same item for ever."""

from __future__ import annotations

import json

import pytest
from golden_recipes import STORED, draw, fingerprint, name_of, recipes

FINGERPRINTS = json.loads(STORED.read_text(encoding="utf-8"))


@pytest.mark.parametrize("recipe", recipes(), ids=" ".join)
def test_a_stored_recipe_still_gives_the_same_item(recipe):
    name = name_of(*recipe)

    assert name in FINGERPRINTS, "a new version or revision: write the fingerprints anew"
    assert fingerprint(draw(*recipe)) == FINGERPRINTS[name], (
        "the item has changed: raise the family's version, then write the fingerprints anew"
    )


def test_fingerprints_tell_items_apart():
    assert len(set(FINGERPRINTS.values())) == len(FINGERPRINTS)
