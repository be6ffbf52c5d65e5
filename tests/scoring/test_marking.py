"""Marking every kind of item: right, wrong, credit, the idea behind, and refusals."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.items.model import Area, Asked, Item, Key, Kind, Level, Option
from quizsvc.scoring.luck import guessing_chance, right_orders
from quizsvc.scoring.marking import Answer, mark, right_words


def item(kind: Kind, key: Key = Key(), options=(), *, unit="", decimals=0, **more) -> Item:  # noqa: B008
    return Item(
        family="invented", version=1, topic="marks", level=Level.APPLY, kind=kind, sheet="",
        revision=0, prompt="?", givens={}, asked=Asked("x", unit, decimals), key=key,
        options=tuple(options), steps=(), **more,
    )  # fmt: skip


RIGHT = Option("24", 24.0, correct=True, rationale="Two turns of the cam.")
FENCE = Option("23", 23.0, correct=False, misconception="fencepost", rationale="One too few.")
DOUBLE = Option("48", 48.0, correct=False, misconception="cam-for-crank", rationale="Doubled.")
ONE = item(Kind.ONE_CHOICE, options=(FENCE, RIGHT, DOUBLE))
SEVERAL = item(
    Kind.SEVERAL_CHOICES,
    options=(RIGHT, Option("25", 25.0, correct=True), FENCE, DOUBLE),
)
NUMBER = item(
    Kind.NUMBER, Key(value=24.0, tolerance=0.5), (RIGHT, FENCE, DOUBLE), unit="mm", decimals=0
)
ORDER = item(
    Kind.ORDER,
    Key(
        sequence=("lock", "press", "pin", "fit"),
        before=(
            ("lock", "press", "It flies out."),
            ("press", "fit", "It is too long."),
            ("pin", "fit", ""),
        ),
    ),
    (
        Option("", ("lock", "press", "pin", "fit"), correct=True),
        Option("", ("press", "lock", "pin", "fit"), correct=False, misconception="hasty",
               rationale="That lets go of the spring."),
    ),
)  # fmt: skip
MATCH = item(
    Kind.MATCH,
    Key(pairs=(("crank", "720"), ("cam", "360"), ("pump", "720"))),
    (Option("", ("360", "720", "720"), correct=False, misconception="swapped", rationale="No."),),
    left=("crank", "cam", "pump"),
    right=("360", "720", "540"),
)
POINT = item(
    Kind.POINT,
    Key(areas=(Area("slack strand", (100.0, 50.0), 12.0),)),
    (
        Option("slack strand", "slack strand", correct=True, rationale="It sags."),
        Option("tight strand", "tight strand", correct=False, misconception="strands-swapped",
               rationale="This one pulls."),
    ),
    places=(Area("slack strand", (100.0, 50.0), 12.0), Area("tight strand", (20.0, 50.0), 12.0)),
)  # fmt: skip
BENCH = item(Kind.BENCH, Key(value=(90.0, 270.0), tolerance=3.0), unit="°")


def test_the_right_option_earns_everything_and_names_its_reason():
    marked = mark(ONE, Answer(choices=(1,)))

    assert (marked.correct, marked.credit, marked.misconception) == (True, 1.0, "")
    assert (marked.given_words, marked.right_words) == ("24", "24")
    assert marked.rationale == "Two turns of the cam."


def test_a_wrong_option_earns_nothing_and_names_the_idea_behind_it():
    marked = mark(ONE, Answer(choices=(0,)))

    assert (marked.correct, marked.credit, marked.misconception) == (False, 0.0, "fencepost")
    assert marked.rationale == "One too few."


@pytest.mark.parametrize(
    ("choices", "correct", "credit", "idea"),
    [
        ((0, 1), True, 1.0, ""),
        ((0,), False, 0.5, ""),
        ((0, 1, 2), False, 0.5, "fencepost"),
        ((0, 2), False, 0.0, "fencepost"),
        ((2, 3), False, 0.0, "fencepost"),
        ((0, 1, 2, 3), False, 0.0, "fencepost"),
    ],
)
def test_several_choices_count_only_whole_and_wrong_ones_cost_credit(
    choices, correct, credit, idea
):
    marked = mark(SEVERAL, Answer(choices=choices))

    assert (marked.correct, marked.credit, marked.misconception) == (correct, credit, idea)


@pytest.mark.parametrize(
    ("given_number", "correct", "idea"),
    [
        (24.0, True, ""),
        (24.5, True, ""),
        (23.5, True, ""),
        (24.51, False, ""),
        (23.0, False, "fencepost"),
        (22.6, False, "fencepost"),
        (48.2, False, "cam-for-crank"),
        (30.0, False, ""),
        (-24.0, False, ""),
    ],
)
def test_a_number_is_right_within_its_tolerance_and_a_foreseen_wrong_one_is_recognised(
    given_number, correct, idea
):
    marked = mark(NUMBER, Answer(number=given_number))

    assert (marked.correct, marked.misconception) == (correct, idea)
    assert marked.right_words == "24 mm"


def test_a_number_is_shown_as_it_was_typed_not_as_it_rounds():
    assert mark(NUMBER, Answer(number=24.25)).given_words == "24.25 mm"


def test_binary_fractions_do_not_decide_at_the_edge_of_the_tolerance():
    edge = item(Kind.NUMBER, Key(value=0.3, tolerance=0.1), decimals=1)

    assert mark(edge, Answer(number=0.4)).correct


def keeps_the_rules(order: tuple[str, ...]) -> bool:
    return all(order.index(a) < order.index(b) for a, b, _ in ORDER.key.before)


def test_every_order_that_keeps_the_rules_is_right_and_no_other():
    for order in itertools.permutations(ORDER.key.sequence):
        assert mark(ORDER, Answer(sequence=order)).correct == keeps_the_rules(order)


def test_a_wrong_order_is_told_every_rule_it_broke():
    marked = mark(ORDER, Answer(sequence=("fit", "pin", "press", "lock")))

    assert "“lock” comes before “press”: It flies out." in marked.rationale
    assert "“press” comes before “fit”: It is too long." in marked.rationale
    assert "“pin” comes before “fit”." in marked.rationale
    assert marked.credit == 0


def test_a_foreseen_wrong_order_names_its_idea():
    marked = mark(ORDER, Answer(sequence=("press", "lock", "pin", "fit")))

    assert marked.misconception == "hasty"
    assert marked.credit == pytest.approx(1 - 2 / 3)


def test_without_rules_only_the_sequence_itself_is_right():
    strict = item(Kind.ORDER, Key(sequence=("1", "3", "4", "2")))

    assert mark(strict, Answer(sequence=("1", "3", "4", "2"))).correct
    assert not mark(strict, Answer(sequence=("1", "3", "2", "4"))).correct


def test_a_match_is_right_whatever_the_order_of_its_pairs_and_a_partner_may_serve_twice():
    pairs = (("pump", "720"), ("cam", "360"), ("crank", "720"))

    assert mark(MATCH, Answer(pairs=pairs)).correct


def test_a_wrong_match_earns_its_right_part_and_a_foreseen_one_names_its_idea():
    marked = mark(MATCH, Answer(pairs=(("crank", "360"), ("cam", "720"), ("pump", "720"))))

    assert not marked.correct
    assert marked.credit == pytest.approx(1 / 3)
    assert marked.misconception == "swapped"
    assert marked.right_words == "crank: 720; cam: 360; pump: 720"


@pytest.mark.parametrize(
    ("point", "correct", "words"),
    [
        ((100, 50), True, "slack strand"),
        ((112, 50), True, "slack strand"),
        ((112.1, 50), False, "a place at (112, 50)"),
        ((20, 55), False, "tight strand"),
    ],
)
def test_a_place_is_right_within_its_circle(point, correct, words):
    marked = mark(POINT, Answer(point=point))

    assert (marked.correct, marked.given_words) == (correct, words)
    assert marked.misconception == ("strands-swapped" if words == "tight strand" else "")


@pytest.mark.parametrize(
    ("angle", "correct"),
    [(90, True), (273, True), (87, True), (810, True), (814, False), (180, False)],
)
def test_the_bench_comes_round_again_after_two_turns_and_may_have_several_right_places(
    angle, correct
):
    assert mark(BENCH, Answer(number=angle)).correct is correct


@pytest.mark.parametrize(
    ("which", "given_answer", "field"),
    [
        (ONE, Answer(), "choice"),
        (ONE, Answer(choices=(3,)), "choice"),
        (ONE, Answer(choices=(-1,)), "choice"),
        (ONE, Answer(choices=(0, 1)), "choice"),
        (SEVERAL, Answer(), "choice"),
        (NUMBER, Answer(), "answer"),
        (NUMBER, Answer(number=math.nan), "answer"),
        (NUMBER, Answer(number=math.inf), "answer"),
        (ORDER, Answer(), "order"),
        (ORDER, Answer(sequence=("lock", "lock", "pin", "fit")), "order"),
        (ORDER, Answer(sequence=("lock", "press", "pin")), "order"),
        (MATCH, Answer(), "match"),
        (MATCH, Answer(pairs=(("crank", "720"), ("cam", "360"))), "match"),
        (MATCH, Answer(pairs=(("crank", "720"), ("cam", "9"), ("pump", "720"))), "match"),
        (POINT, Answer(), "place"),
        (POINT, Answer(point=(math.nan, 0.0)), "place"),
        (BENCH, Answer(), "answer"),
    ],
)
def test_what_is_no_answer_to_the_item_is_refused_by_name(which, given_answer, field):
    with pytest.raises(InputError) as refused:
        mark(which, given_answer)

    assert refused.value.field == field
    assert refused.value.remedy


@pytest.mark.parametrize(
    ("which", "chance"),
    [
        (ONE, 1 / 3),
        (SEVERAL, 1 / 15),
        (NUMBER, 0.0),
        (ORDER, 3 / 24),
        (MATCH, 1 / 6),
        (POINT, 0.5),
        (BENCH, 0.0),
    ],
)
def test_the_chance_of_guessing_follows_from_the_kind(which, chance):
    assert guessing_chance(which) == pytest.approx(chance)


def test_right_orders_are_counted_as_trying_them_all_does():
    counted = sum(map(keeps_the_rules, itertools.permutations(ORDER.key.sequence)))

    assert right_orders(ORDER.key.sequence, ORDER.key.before) == counted == 3


def test_every_kind_can_say_its_right_answer_in_words():
    words = [right_words(one) for one in (ONE, SEVERAL, NUMBER, ORDER, MATCH, POINT, BENCH)]

    assert all(words)
    assert words[-1] == "90° or 270°"


@given(st.permutations(ORDER.key.sequence))
def test_credit_lies_from_0_to_1_and_is_whole_only_for_the_right_answer(order):
    marked = mark(ORDER, Answer(sequence=tuple(order)))

    assert 0 <= marked.credit <= 1
    assert (marked.credit == 1) == marked.correct
