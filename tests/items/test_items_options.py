"""How options are chosen: apart from each other, and with the key at no telling place."""

from __future__ import annotations

from collections import Counter

import pytest

from quizsvc.items.assemble import Question, assemble
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Area, Asked, BenchStart, BenchTask, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, Wrong, number_text, wrong_answers
from quizsvc.sheets.loading import shipped_sheets


class SomeFamily:
    id, version, topic, caution = "some-family", 1, "marks", "Mind your fingers."


def question(**changes):
    stated = {
        "prompt": "How far?",
        "givens": {},
        "asked": Asked("deg", "°", 0),
        "steps": (Step("So.", 1.23456, "°"),),
        "value": 10.0,
    }
    return Question(**{**stated, **changes})


def wrongs(*values):
    return tuple(Wrong(f"idea-{value}", value, "No.") for value in values)


def item_of(asked, kind, seed=1):
    sheet = shipped_sheets()["demo-inline-four"]
    return assemble(SomeFamily, sheet, asked, Draw("test", seed), Level.APPLY, kind)


def test_wrong_numbers_that_agree_as_shown_are_offered_once():
    asked = question(wrong=wrongs(20.1, 20.2, 30.0, 40.0))

    item = item_of(asked, Kind.ONE_CHOICE)

    assert sorted(option.value for option in item.options) == [10.0, 20.0, 30.0, 40.0]


def test_wrong_numbers_within_the_tolerance_are_left_out():
    asked = question(tolerance=2.0, wrong=wrongs(8.0, 11.0, 12.0, 13.0))

    item = item_of(asked, Kind.NUMBER)

    assert sorted(option.value for option in item.options) == [10.0, 13.0]


def test_too_few_wrong_numbers_make_no_choice():
    asked = question(wrong=wrongs(20.0, 30.0))

    with pytest.raises(Redraw):
        item_of(asked, Kind.ONE_CHOICE)
    assert len(item_of(asked, Kind.NUMBER).options) == 3


def test_the_key_stands_at_every_rank_equally_often():
    asked = question(wrong=wrongs(1.0, 2.0, 3.0, 20.0, 30.0, 40.0))

    ranks = Counter(
        sorted(option.value for option in item_of(asked, Kind.ONE_CHOICE, seed).options).index(10.0)
        for seed in range(1200)
    )

    assert set(ranks) == {0, 1, 2, 3}
    assert sum((n - 300) ** 2 / 300 for n in ranks.values()) < 25


def test_what_the_prompt_speaks_of_is_among_the_options():
    asked = question(wrong=wrongs(1.0, 2.0, 20.0, 30.0, 40.0, 50.0), keep="idea-40.0")

    for seed in range(100):
        assert 40.0 in [option.value for option in item_of(asked, Kind.ONE_CHOICE, seed).options]


def test_no_wrong_crank_angle_is_right_half_a_cycle_on():
    asked = question(
        value=(0.0, 360.0),
        tolerance=2.0,
        wrong=wrongs(719.0, 361.0, 90.0),
        bench=BenchStart(BenchTask.TURN, 45.0),
    )

    item = item_of(asked, Kind.BENCH)

    assert item.key.value == (0.0, 360.0)
    assert sorted(option.value for option in item.options) == [0.0, 90.0]


def test_predictions_are_never_shown():
    asked = question(wrong=wrongs(20.0, 30.0, 40.0))

    assert item_of(asked, Kind.NUMBER).shown_options == ()
    assert len(item_of(asked, Kind.ONE_CHOICE).shown_options) == 4


def test_things_to_order_never_come_in_order():
    asked = question(
        value=None, sequence=("a", "b", "c"), wrong=(Wrong("w", ("c", "b", "a"), "-"),)
    )
    orders = set()

    for seed in range(60):
        try:
            orders.add(item_of(asked, Kind.ORDER, seed).things)
        except Redraw:
            orders.add("redrawn")

    assert ("a", "b", "c") not in orders
    assert len(orders) == 6  # five other orders, and the wish for another draw


def test_matching_offers_each_partner_once_and_spare_ones():
    asked = question(
        value=None,
        pairs=(("1", "power"), ("2", "intake"), ("3", "power")),
        spare_right=("power", "exhaust"),
        wrong=(Wrong("w", ("intake", "power", "intake"), "-"),),
    )

    item = item_of(asked, Kind.MATCH)

    assert item.left == ("1", "2", "3")
    assert sorted(item.right) == ["exhaust", "intake", "power"]
    assert item.options[1].value == ("intake", "power", "intake")


def test_right_places_are_those_the_right_options_name():
    places = (Area("A", (1, 1), 5), Area("B", (9, 9), 5))
    asked = question(
        value=None, places=places, right=(("B", "B"),), wrong=(Wrong("w", "A", "No.", "A"),)
    )

    item = item_of(asked, Kind.POINT)

    assert item.key.areas == (places[1],)
    assert {option.text for option in item.options} == {"A", "B"}


def test_cautions_of_family_and_question_stand_together():
    item = item_of(question(wrong=wrongs(2.0), caution="It is hot."), Kind.NUMBER)

    assert item.caution == "Mind your fingers. It is hot."


def test_numbers_of_steps_are_rounded_for_reading():
    assert item_of(question(wrong=wrongs(2.0)), Kind.NUMBER).steps[0].value == 1.235


def test_an_idea_that_leads_nowhere_gives_no_answer():
    ideas = (Idea("half", lambda n: n / 2, "."), Idea("none", lambda _: None, "."))

    assert [wrong.misconception for wrong in wrong_answers(ideas, 8)] == ["half"]


@pytest.mark.parametrize(
    ("value", "decimals", "unit", "shown"),
    [(-0.04, 1, "mm", "0.0 mm"), (-12.34, 1, "°", "−12.3°"), (3.0, 0, "", "3"), (5, 0, "%", "5%")],
)
def test_numbers_are_shown_with_true_minus_and_unit(value, decimals, unit, shown):
    assert number_text(value, decimals, unit) == shown
