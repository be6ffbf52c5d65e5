"""Practice from the first question to the history, as a person lives it."""

from __future__ import annotations

import pytest
from workshop import NOON

from quizsvc.errors import InputError
from quizsvc.rules.actors import Actor, Role
from quizsvc.services import practise
from quizsvc.services.shown import Given


def number_of(choices, text: str) -> int:
    return next(one.number for one in choices if one.text == text)


def test_a_newcomer_is_told_that_nothing_was_tried_and_where_to_begin(house, ana):
    seen = practise.overview(house, ana, NOON)

    assert {"safety", "wear", "chain", "procedure", "cooling"} <= {t.topic_id for t in seen.topics}
    assert all(topic.chance is None and topic.answers == 0 for topic in seen.topics)
    assert seen.topics[0].words == "Nothing answered here yet."
    assert seen.most_useful in {topic.topic_id for topic in seen.topics}
    assert "not tried" in seen.why
    assert [sheet.sheet_id for sheet in seen.sheets] == ["demo-inline-four"]


def test_a_right_choice_raises_the_standing_and_says_why_it_is_right(house, ana, workshop):
    token = practise.put_next(house, ana, topic="safety", now=NOON)
    item = practise.open_offer(house, ana, token, now=NOON)
    right = number_of(item.options, "Ignition off, key away")

    outcome = practise.answer(
        house, ana, token, Given(choices=(right,)), now=workshop.later(minutes=1)
    )

    assert outcome.correct
    assert outcome.credit == 1
    assert outcome.given_words == outcome.right_words == "Ignition off, key away"
    assert outcome.rationale == "Nobody can start it then."
    assert outcome.before.chance is None
    assert outcome.after.chance > 0.5
    assert outcome.after.answers == 1
    assert outcome.caution == "Keep fingers clear of the chain."
    assert [one.chosen for one in outcome.options].count(True) == 1


def test_a_wrong_choice_lowers_the_standing_and_shows_what_was_right(house, ana, workshop):
    first = practise.put_next(house, ana, topic="safety", now=NOON)
    practise.answer(house, ana, first, Given(choices=(1,)), now=workshop.later(minutes=1))
    token = practise.put_next(house, ana, topic="safety", now=workshop.now)
    item = practise.open_offer(house, ana, token, now=workshop.now)
    wrong = number_of(item.options, "Radio on")

    outcome = practise.answer(
        house, ana, token, Given(choices=(wrong,)), now=workshop.later(minutes=1)
    )

    assert not outcome.correct
    assert outcome.given_words == "Radio on"
    assert outcome.right_words == "Ignition off, key away"
    assert outcome.rationale == "That starts nothing and stops nothing."
    assert outcome.after.chance < outcome.before.chance
    assert outcome.after.answers == 2


def offered_the_percentage(house, ana) -> str:
    while True:
        token = practise.put_next(house, ana, topic="chain", now=NOON)
        if practise.open_offer(house, ana, token, now=NOON).prompt.startswith("A chain of 1000"):
            return token


def test_a_number_may_be_typed_with_a_decimal_comma_and_its_unit(house, ana):
    token = offered_the_percentage(house, ana)

    outcome = practise.answer(house, ana, token, Given(number="1,25 %"), now=NOON)

    assert outcome.correct
    assert outcome.given_words == "1.25%"


@pytest.mark.parametrize("typed", ["", "   ", "a lot", "nan", "inf", "1/4"])
def test_what_is_no_number_is_refused_and_nothing_is_stored(house, ana, typed):
    token = offered_the_percentage(house, ana)

    with pytest.raises(InputError) as refused:
        practise.answer(house, ana, token, Given(number=typed), now=NOON)

    assert refused.value.field == "answer"
    assert refused.value.remedy
    assert practise.history(house, ana, now=NOON).total == 0
    assert not practise.open_offer(house, ana, token, now=NOON).answered


def test_a_broken_order_is_told_which_rule_it_broke(house, ana):
    token = practise.put_next(house, ana, topic="procedure", now=NOON)
    item = practise.open_offer(house, ana, token, now=NOON)
    order = [number_of(item.things, text) for text in ("Open", "Disconnect", "Inspect")]

    outcome = practise.answer(house, ana, token, Given(order=tuple(order)), now=NOON)

    assert not outcome.correct
    assert "“Disconnect” comes before “Open”: Current kills units." in outcome.rationale
    assert outcome.right_words == "Disconnect, then Open, then Inspect"


def test_things_to_put_in_order_are_never_shown_in_the_right_order(house, ana):
    for _ in range(12):
        token = practise.put_next(house, ana, topic="procedure", now=NOON)
        things = practise.open_offer(house, ana, token, now=NOON).things

        assert [thing.text for thing in things] != ["Disconnect", "Open", "Inspect"]


def test_partners_are_matched_by_the_numbers_shown(house, ana):
    token = practise.put_next(house, ana, topic="cooling", now=NOON)
    item = practise.open_offer(house, ana, token, now=NOON)
    pairs = [("Pump", "moves coolant"), ("Radiator", "gives off heat")]
    pairs.append(("Thermostat", "holds it back when cold"))
    given = tuple((number_of(item.things, a), number_of(item.partners, b)) for a, b in pairs)

    outcome = practise.answer(house, ana, token, Given(pairs=given), now=NOON)

    assert outcome.correct


def test_several_choices_need_all_that_are_right(house, ana):
    token = practise.put_next(house, ana, topic="wear", now=NOON)
    while len(practise.open_offer(house, ana, token, now=NOON).options) != 3:
        token = practise.put_next(house, ana, topic="wear", now=NOON)
    item = practise.open_offer(house, ana, token, now=NOON)
    one = number_of(item.options, "Plunger far out")

    outcome = practise.answer(house, ana, token, Given(choices=(one,)), now=NOON)

    assert not outcome.correct
    assert outcome.credit == 0.5
    assert outcome.rationale == "The slack strand slaps."


def test_a_computed_question_has_a_figure_and_after_the_answer_the_solution(house, ana):
    token = practise.put_next(house, ana, topic="cycle", sheet="demo-inline-four", now=NOON)
    while not practise.open_offer(house, ana, token, now=NOON).options:
        token = practise.put_next(house, ana, topic="cycle", sheet="demo-inline-four", now=NOON)
    item = practise.open_offer(house, ana, token, now=NOON)

    outcome = practise.answer(house, ana, token, Given(choices=(1,)), now=NOON)

    assert item.sheet_id == "demo-inline-four"
    assert outcome.steps
    assert outcome.has_solution_figure == item.has_figure
    if item.has_figure:
        assert practise.figure(house, ana, token, solution=True, now=NOON).alt


def test_the_history_shows_the_newest_answer_first_and_filters_by_topic(house, ana, workshop):
    for topic in ("safety", "wear", "safety"):
        token = practise.put_next(house, ana, topic=topic, now=workshop.later(minutes=1))
        item = practise.open_offer(house, ana, token, now=workshop.now)
        given = Given(choices=(1,)) if item.options else Given(number="1")
        practise.answer(house, ana, token, given, now=workshop.now)

    everything = practise.history(house, ana, now=workshop.now)
    safety = practise.history(house, ana, topic="safety", now=workshop.now)

    assert [entry.topic_id for entry in everything.entries] == ["safety", "wear", "safety"]
    assert (everything.total, everything.page, everything.pages) == (3, 1, 1)
    assert safety.total == 2
    assert safety.entries[0].prompt


def test_a_page_of_the_history_that_does_not_exist_is_refused(house, ana):
    with pytest.raises(InputError, match="page = 2"):
        practise.history(house, ana, page=2, now=NOON)


@pytest.mark.parametrize(
    ("wish", "field"),
    [
        ({"topic": "astrology"}, "topic"),
        ({"topic": "safety", "sheet": "no-such-engine"}, "sheet"),
    ],
)
def test_an_unknown_wish_is_refused_by_name(house, ana, wish, field):
    with pytest.raises(InputError) as refused:
        practise.put_next(house, ana, **wish, now=NOON)

    assert refused.value.field == field
    assert refused.value.value == wish[field]
    assert refused.value.remedy


def test_practice_is_spread_over_topics_even_when_one_goes_wrong_all_the_time(house, ana, workshop):
    topics = set()
    for _ in range(12):
        token = practise.put_next(house, ana, now=workshop.later(minutes=1))
        topics.add(practise.open_offer(house, ana, token, now=workshop.now).topic_id)

    assert len(topics) >= 5


def test_whoever_holds_no_role_may_not_practise(house, ana):
    nobody = Actor(ana.person_id, ana.name, ana.shop_id, frozenset())

    with pytest.raises(PermissionError):
        practise.put_next(house, nobody, now=NOON)


def test_an_instructor_may_practise_too(house, workshop):
    ida = workshop.people["ida"]

    assert ida.is_a(Role.INSTRUCTOR)
    assert practise.put_next(house, ida, now=NOON)


def test_two_months_without_practice_make_the_standing_less_certain(house, ana, workshop):
    for _ in range(6):
        token = practise.put_next(house, ana, topic="safety", now=workshop.later(minutes=1))
        item = practise.open_offer(house, ana, token, now=workshop.now)
        right = number_of(item.options, "Ignition off, key away") if len(item.options) == 4 else 1
        practise.answer(house, ana, token, Given(choices=(right,)), now=workshop.now)

    def width(now):
        standing = next(t for t in practise.overview(house, ana, now).topics if t.answers)
        return standing.high - standing.low, standing.chance

    fresh, faded = width(workshop.now), width(workshop.later(days=60))

    assert faded[0] > fresh[0]
    assert faded[1] < fresh[1]
