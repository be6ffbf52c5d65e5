from __future__ import annotations

import pytest
from valid_sheets import edited

from quizsvc.errors import InputError
from quizsvc.items.choosing import Draw
from quizsvc.items.engine import an_engine, engine_of, stock_engines
from quizsvc.items.family import NotForThisSheet, all_families, draw_item, find_family
from quizsvc.items.misconception import all_misconceptions, find_misconception
from quizsvc.items.model import Asked, Kind, Level
from quizsvc.items.options import Redraw, Wrong
from quizsvc.items.phrases import answer_in, claim, counted, degrees, listed
from quizsvc.items.topics import find_topic
from quizsvc.sheets.loading import shipped_sheets


def test_an_unknown_family_is_named_with_a_remedy():
    with pytest.raises(InputError, match="no such family") as caught:
        find_family("firing-intervall")

    assert caught.value.field == "family"
    assert "quizsvc items families" in caught.value.remedy


def test_an_unknown_misconception_or_topic_is_named():
    with pytest.raises(InputError, match="no such misconception"):
        find_misconception("nothing")
    with pytest.raises(InputError, match="no such topic"):
        find_topic("nothing")


def test_level_and_kind_are_part_of_the_recipe():
    family, sheet = find_family("tooth-degrees"), shipped_sheets()["demo-vee-six"]

    as_comes = draw_item(family, sheet, 5)
    wanted = draw_item(family, sheet, 5, level=Level.APPLY, kind=Kind.ONE_CHOICE)

    assert wanted.level is Level.APPLY
    assert wanted.kind is Kind.ONE_CHOICE
    assert wanted == draw_item(family, sheet, 5, level=Level.APPLY, kind=Kind.ONE_CHOICE)
    assert wanted != as_comes


def test_another_revision_of_a_sheet_gives_another_item():
    family, sheet = find_family("piston-drop"), shipped_sheets()["demo-inline-four"]

    assert draw_item(family, sheet, 1) != draw_item(family, edited(sheet, revision=2), 1)


def test_two_sheets_that_share_an_id_are_kept_apart():
    sheet = shipped_sheets()["demo-inline-four"]
    other = edited(sheet, layout__firing_order=[1, 2, 4, 3])

    assert engine_of(sheet).order_text == "1-3-4-2"
    assert engine_of(other).order_text == "1-2-4-3"


def test_a_sheet_that_states_no_pins_has_no_chain_to_refit():
    sheet = edited("demo-inline-four", drives__0__mark_pins=[])

    with pytest.raises(NotForThisSheet, match="no pins"):
        draw_item(find_family("bench-refit-chain"), sheet, 1)


def test_recall_is_about_the_sheets_own_engine_others_may_be_about_another():
    sheet = shipped_sheets()["demo-inline-four"]

    own = {an_engine(sheet, Draw(seed), Level.RECALL).title for seed in range(30)}
    any_engine = {an_engine(sheet, Draw(seed), Level.APPLY).title for seed in range(60)}

    assert own == {"inline four"}
    assert len(any_engine) > 3


def test_every_stock_engine_fires_evenly_and_says_so():
    for engine in stock_engines():
        assert engine.even
        assert sum(engine.intervals_deg) == pytest.approx(720)
        assert engine.order_text in engine.begins


def test_an_uneven_engine_states_each_interval():
    # A 90° vee six on three shared crankpins fires every 90° and 150° in turn.
    sheet = edited(
        "demo-vee-six",
        layout__banks__0__angle_deg=-45,
        layout__banks__1__angle_deg=45,
        layout__cylinders=[
            {"number": number, "bank": bank, "pin_deg": pin}
            for number, bank, pin in (
                (1, "a", 0), (2, "b", 0), (3, "a", 120), (4, "b", 120), (5, "a", 240), (6, "b", 240)
            )
        ],
    )  # fmt: skip

    engine = engine_of(sheet)

    assert set(engine.intervals_deg) == {90, 150}
    assert "90°, 150°" in engine.begins
    assert set(engine.companions.values()) == {None}


def test_every_family_and_misconception_reads_as_prose():
    for family in all_families().values():
        assert family.title[0].isupper()
        assert family.key_follows.endswith(".")
    for idea in all_misconceptions().values():
        find_topic(idea.topic)
        assert idea.title, idea.id
        assert idea.thinks.endswith((".", "?")), idea.id
        assert idea.but.endswith("."), idea.id


def test_a_claim_is_right_one_time_in_three_and_else_names_its_idea():
    asked = Asked("interval_crank_deg", "°", 0)
    wrong = (Wrong("cycle-in-one-turn", 90.0, "."), Wrong("gaps-one-fewer", 240.0, "."))

    claims = [claim(Draw(seed), wrong, 180.0, asked) for seed in range(600)]
    right = [one for one in claims if not one.keep]

    assert 150 < len(right) < 250
    assert all("180°" in one.sentence for one in right)
    assert {one.keep for one in claims} == {"", "cycle-in-one-turn", "gaps-one-fewer"}


def test_a_claim_needs_an_idea_that_is_clearly_wrong():
    asked = Asked("crank_deg", "°", 0)

    wrong = (Wrong("cycle-in-one-turn", 180.4, "."),)
    unfair = next(seed for seed in range(50) if not said_right(Draw(seed)))

    with pytest.raises(Redraw):
        claim(Draw(unfair), wrong, 180.0, asked, 1.0)


def said_right(draw):
    draw.choice("abc")  # who says it
    return draw.chance(1 / 3)


def test_phrases_say_counts_lists_and_rounding():
    assert counted(1, "tooth", "teeth") == "1 tooth"
    assert listed((1, 2), "or") == "1 or 2"
    assert listed(("only",)) == "only"
    assert degrees(-2.5) == "−2.5°"
    assert answer_in("mm", 2) == "Answer in mm, to two decimal places."
