"""A belt engine is asked about its belt: no pins, links or sprockets, and the reverse."""

from __future__ import annotations

import re

import pytest
from drawn_items import FAMILY_IDS
from hypothesis import HealthCheck, given, settings
from valid_sheets import BELT_THREE, CHAIN_DRIVEN, belt_sheets, shipped

from quizsvc.items.family import (
    NotForThisSheet,
    all_families,
    draw_item,
    find_family,
    suits_drives,
)
from quizsvc.items.misconception import find_misconception
from quizsvc.items.model import Item

CHAIN_WORDS = re.compile(
    r"\b(chains?|links?|sprockets?|plunger|roller chain|chain end|count(?:ing|ed)? (?:the )?pins?|"
    r"pins? (?:too|between|are|at the|lie))\b",
    re.IGNORECASE,
)
BELT_FAMILIES = {"belt-teeth-apart", "belt-renewal", "teeth-in-mesh", "roller-speed"}
SUITED = [name for name in FAMILY_IDS if suits_drives(find_family(name), shipped(BELT_THREE))]


def said(item: Item) -> list[str]:
    """Everything a person reads, before and after the answer."""
    ideas = {option.misconception for option in item.options} - {""}
    return [
        item.prompt,
        item.caution,
        item.reference,
        item.figure().alt,
        *(step.text for step in item.steps),
        *(f"{option.text} {option.rationale}" for option in item.options),
        *(f"{find_misconception(idea).title} {find_misconception(idea).but}" for idea in ideas),
        *(shape.text for shape in item.figure().shapes if hasattr(shape, "text")),
    ]


@pytest.mark.parametrize("family_id", SUITED)
def test_no_question_on_a_belt_engine_speaks_of_a_chain(family_id):
    for seed in range(40):
        item = draw_item(find_family(family_id), shipped(BELT_THREE), seed)

        for text in said(item):
            found = CHAIN_WORDS.search(text.replace("piston pin", ""))
            assert found is None, (found, text)


def test_families_about_chains_are_not_asked_of_a_belt_engine():
    chain_only = [f for f in all_families().values() if f.drive == "chain"]

    assert {"pins-apart", "elongation", "wear-retard", "marks-realign"} <= {
        f.id for f in chain_only
    }
    for family in chain_only:
        with pytest.raises(NotForThisSheet, match="asks about a chain, and the engine has none"):
            draw_item(family, shipped(BELT_THREE), 1)


@pytest.mark.parametrize("name", CHAIN_DRIVEN)
def test_families_about_belts_are_not_asked_of_a_chain_engine(name):
    belt_only = {f.id for f in all_families().values() if f.drive == "belt"}

    assert belt_only == BELT_FAMILIES
    for family_id in belt_only:
        with pytest.raises(NotForThisSheet, match="asks about a belt"):
            draw_item(find_family(family_id), shipped(name), 1)


def test_every_topic_but_those_of_hand_written_items_can_be_practised_on_the_belt_engine():
    topics = {find_family(family_id).topic for family_id in SUITED}

    assert topics == {f.topic for f in all_families().values()}


@settings(max_examples=15, suppress_health_check=list(HealthCheck))
@given(sheet=belt_sheets())
def test_on_any_belt_engine_items_can_be_drawn_with_their_figures(sheet):
    for family_id in (*BELT_FAMILIES, "bench-refit-chain", "tooth-degrees", "mark-angle"):
        item = draw_item(find_family(family_id), sheet, 1)

        assert item.figure().alt == item.figure_alt
        assert item.solution_figure().shapes


def test_the_bench_is_refitted_by_teeth_of_the_belt():
    for seed in range(20):
        item = draw_item(find_family("bench-refit-chain"), shipped(BELT_THREE), seed)

        assert "teeth of the belt are specified" in item.prompt
        assert "Disconnect the battery first" in item.caution
        assert "Interference engine" in item.caution
        assert "two full turns by hand" in item.caution


def test_items_on_belts_carry_their_cautions_and_say_where_their_facts_come_from():
    belt = [find_family(family_id) for family_id in BELT_FAMILIES]

    for family in belt:
        item = draw_item(family, shipped(BELT_THREE), 3)
        assert "service information" in item.caution, family.id
        assert item.reference, family.id
    assert (
        "common practice"
        in draw_item(find_family("belt-renewal"), shipped(BELT_THREE), 1).reference
    )
