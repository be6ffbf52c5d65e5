"""What the banks that come with the program promise."""

import re
from collections import Counter
from itertools import permutations

import pytest

from quizsvc.items.bank_check.checking import check_path
from quizsvc.items.banks.loading import MEDIA, SHIPPED, shipped_banks
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.choosing import Draw
from quizsvc.items.markdown import plain_words, render_prompt
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Kind
from quizsvc.scoring.marking import Answer, mark

ENTRIES = [entry for bank in shipped_banks().values() for entry in bank.entries]
ORDERS = [entry for entry in ENTRIES if entry.written.kind == "order"]
POINTS = [entry for entry in ENTRIES if entry.written.kind == "point on a figure"]

# Facts of the trade (common practice, no source) and the tag of the items that teach each.
FACTS = {
    "a new belt is set otherwise than one that has run in": "belt-new-and-run-in",
    "some tensioners come off to change their position": "tensioner-off-for-setting",
    "spring load is held while a locking bolt comes out": "spring-held",
    "a little seepage at the weep hole is normal": "seepage-normal",
    "much seepage is a failing seal": "seepage-failing",
    "a hydraulic tensioner lives on oil pressure": "hydraulic",
    "a ratchet holds the chain before pressure builds": "ratchet",
    "slack lies on the tensioner's side before a wear mark is judged": "slack-before-reading",
    "a tensioner is drained, pressed back slowly, locked, then fitted": "tensioner-reset",
    "a cam may jump when its bolts come out": "cam-jumps",
    "marked links need not meet again": "marked-links",
    "slack belongs on the tensioner's side after fitting": "slack-after-fitting",
    "all marks are looked at again before going on": "marks-again",
    "sealant goes where two gaskets meet": "sealant-joints",
    "early and late build may differ": "build-date",
}
SUBJECTS = (
    *("battery", "heat", "lifting", "turning", "interference", "licensed-practice"),
    *("tools", "torque", "taking-apart", "putting-together", "damper", "one-time-parts"),
    *("spring-tensioner", "wear-mark", "guides", "wear-judgement", "seals", "seepage"),
    *("thermostat", "bleeding", "coolant", "belt-change", "sensors", "slip-symptoms"),
    *("after-the-job", "records"),
)


def of_id(entry):
    return f"{entry.bank}/{entry.id}"


def test_the_check_finds_nothing():
    assert [str(fault) for fault in check_path(SHIPPED).faults] == []


def test_there_are_enough_items_of_enough_kinds_and_levels():
    kinds = Counter(entry.written.kind for entry in ENTRIES)
    levels = Counter(str(entry.written.level) for entry in ENTRIES)

    assert len(ENTRIES) >= 160
    assert kinds["one choice"] > len(ENTRIES) / 2
    assert kinds["order"] >= 15
    assert kinds["several choices"] >= 12
    assert kinds["match"] >= 8
    assert kinds["number"] >= 5
    assert kinds["point on a figure"] >= 5
    assert levels["apply"] + levels["diagnose"] > len(ENTRIES) / 3
    assert levels["diagnose"] >= 50


@pytest.mark.parametrize("tag", [*FACTS.values(), *SUBJECTS])
def test_every_fact_and_subject_has_an_item(tag):
    assert any(tag in entry.written.tags for entry in ENTRIES)


def test_every_tag_is_a_known_fact_or_subject():
    known = {*FACTS.values(), *SUBJECTS, "spring", "fuel"}

    assert {tag for entry in ENTRIES for tag in entry.written.tags} <= known


def test_every_item_makes_an_item_whose_prompt_can_be_shown():
    for entry in ENTRIES:
        item = bank_item(entry, 1)
        assert plain_words(item.prompt)
        assert "<p>" in render_prompt(item.prompt)
        assert item.reference


def test_one_choice_items_have_four_options_and_one_key():
    for entry in ENTRIES:
        item = bank_item(entry, 5)
        if item.kind is Kind.ONE_CHOICE:
            assert len(item.options) == 4, of_id(entry)
            assert sum(option.correct for option in item.options) == 1, of_id(entry)


def test_marking_agrees_with_the_key_of_every_option():
    for entry in ENTRIES:
        item = bank_item(entry, 9)
        if item.kind is not Kind.ONE_CHOICE:
            continue
        for number, option in enumerate(item.options):
            marked = mark(item, Answer(choices=(number,)))
            assert marked.correct is option.correct
            assert marked.rationale


def test_the_right_sets_numbers_and_partners_are_marked_right():
    for entry in ENTRIES:
        item = bank_item(entry, 9)
        if item.kind is Kind.SEVERAL_CHOICES:
            right = tuple(n for n, option in enumerate(item.options) if option.correct)
            assert mark(item, Answer(choices=right)).correct
            assert not mark(item, Answer(choices=right[1:] or (0,))).correct
        elif item.kind is Kind.NUMBER:
            assert mark(item, Answer(number=item.key.value)).correct
            for option in item.options:
                assert mark(item, Answer(number=option.value)).correct is option.correct
        elif item.kind is Kind.MATCH:
            assert mark(item, Answer(pairs=item.key.pairs)).correct


def keeps(entry, order):
    """Say whether an order of ids keeps the written rules, found anew from the bank's text."""
    place = {name: number for number, name in enumerate(order)}
    return all(place[rule.first] < place[rule.later] for rule in entry.written.before)


def a_right_order(entry, seed):
    """Return one of the orders that keep all rules, chosen by seed."""
    draw = Draw("any right order", entry.family, seed)
    left = [thing.id for thing in entry.written.sequence]
    order = []
    while left:
        blocked = {r.later for r in entry.written.before if r.first in left and r.later in left}
        order.append(draw.choice([name for name in left if name not in blocked]))
        left.remove(order[-1])
    return order


def texts_of(entry, order):
    texts = {thing.id: thing.text for thing in entry.written.sequence}
    return tuple(texts[name] for name in order)


@pytest.mark.parametrize("entry", ORDERS, ids=of_id)
def test_the_stated_sequence_and_every_sampled_right_order_are_marked_right(entry):
    item = bank_item(entry, 2)

    assert mark(item, Answer(sequence=item.key.sequence)).correct
    for seed in range(40):
        order = a_right_order(entry, seed)
        assert keeps(entry, order)
        assert mark(item, Answer(sequence=texts_of(entry, order))).correct


@pytest.mark.parametrize("entry", [e for e in ORDERS if len(e.written.sequence) <= 6], ids=of_id)
def test_marking_and_the_rules_agree_on_every_order_of_a_short_item(entry):
    item = bank_item(entry, 2)
    names = [thing.id for thing in entry.written.sequence]

    for order in permutations(names):
        marked = mark(item, Answer(sequence=texts_of(entry, order)))
        assert marked.correct is keeps(entry, order)


@pytest.mark.parametrize("entry", ORDERS, ids=of_id)
def test_an_order_that_breaks_a_rule_is_told_which(entry):
    item = bank_item(entry, 2)

    for rule in entry.written.before:
        order = [thing.id for thing in entry.written.sequence]
        order.remove(rule.first)
        order.insert(order.index(rule.later) + 1, rule.first)
        marked = mark(item, Answer(sequence=texts_of(entry, order)))
        assert not marked.correct
        assert rule.why in marked.rationale


@pytest.mark.parametrize("entry", ORDERS, ids=of_id)
def test_no_order_item_is_put_before_a_person_already_right(entry):
    for seed in range(50):
        item = bank_item(entry, seed)
        assert not mark(item, Answer(sequence=item.things)).correct


@pytest.mark.parametrize("entry", POINTS, ids=of_id)
def test_pointing_at_a_place_is_marked_as_the_place_is_and_gives_its_reason(entry):
    item = bank_item(entry, 4)

    for place in item.places:
        option = next(option for option in item.options if option.value == place.name)
        marked = mark(item, Answer(point=place.centre))
        assert marked.correct is option.correct
        assert marked.rationale == option.rationale
    assert not mark(item, Answer(point=(1.0, 1.0))).correct


def test_every_caution_puts_the_makers_information_local_rules_and_licensed_practice_first():
    cautions = {entry.caution for entry in ENTRIES if entry.caution}

    assert cautions
    for caution in cautions:
        assert caution.startswith(
            "The maker's service information, local rules and licensed practice come first. "
        )


def test_nothing_looks_like_a_trade_mark_or_a_part_number():
    for bank in shipped_banks().values():
        text = bank.written.model_dump_json()
        assert not re.search(r"[®™©]", text)
        assert not re.search(r"\b(?=\w*\d)(?=\w*[A-Z])[A-Z0-9]{6,}\b", text)


def test_named_misconceptions_are_of_use():
    cited = {
        option.misconception
        for entry in ENTRIES
        for option in getattr(entry.written, "options", ())
        if option.misconception
    }

    assert len(cited) >= 30
    assert cited <= set(all_misconceptions())


def test_pictures_serve_at_least_a_dozen_items():
    pictured = [entry for entry in ENTRIES if entry.written.picture]

    assert len(pictured) >= 12
    assert all((MEDIA / entry.written.picture).is_file() for entry in pictured)
