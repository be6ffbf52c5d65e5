"""Items of others: each kind that can be mapped is mapped, and what changed is told."""

import pytest
from qti_foreign_items import (
    ENTRY,
    EQUAL,
    FLOAT,
    HOTSPOT,
    INLINE,
    MATCH,
    MODAL,
    ORDER,
    ORDERED,
    PAIRED,
    only,
    told,
)
from qti_packages import CHOICE_BODY, foreign_item, foreign_package, picture

from quizsvc.interchange.qti.package import import_package
from quizsvc.interchange.qti.report import Fate, Filling
from quizsvc.items.model import Level


def test_a_plain_choice_becomes_one_choice_with_the_filling_told():
    item, notes = only(foreign_item(CHOICE_BODY))

    assert item.kind == "one choice"
    assert item.prompt == "Which part holds the *chain* tight?\n\nChoose one."
    assert [(one.text, one.correct) for one in item.options] == [
        ("The tensioner", True),
        ("The dipstick", False),
    ]
    assert [note.fate for note in notes] == [Fate.FILLED]
    assert notes[0].item == "foreign"


def test_topic_level_reference_and_author_are_put_where_the_source_says_nothing():
    filling = Filling(author="Ann", topic="wear", level=Level.DIAGNOSE, reference="ours")

    imported = import_package(foreign_package(foreign_item(CHOICE_BODY)), filling)

    item = imported.bank.items[0]
    assert (item.topic, item.level, item.reference) == ("wear", "diagnose", "ours")
    assert imported.bank.author == "Ann"


def test_several_right_choices_become_several_choices():
    body = CHOICE_BODY.replace('max-choices="1"', 'max-choices="0"').replace(
        "</qti-choice-interaction>",
        '<qti-simple-choice identifier="C">The guide</qti-simple-choice></qti-choice-interaction>',
    )
    declared = 'cardinality="multiple" base-type="identifier"'

    item, _ = only(foreign_item(body, declared=declared, key=("A", "C")))

    assert item.kind == "several choices"
    assert [one.correct for one in item.options] == [True, False, True]


@pytest.mark.parametrize(
    ("written", "more"),
    [
        (
            INLINE,
            "",
        ),
        (
            "",
            MODAL,
        ),
    ],
)
def test_feedback_on_a_choice_becomes_its_rationale(written, more):
    body = CHOICE_BODY.replace("The tensioner<", f"The tensioner{written}<")

    item, notes = only(foreign_item(body, more=more))

    assert item.options[0].text == "The tensioner"
    assert item.options[0].rationale == "It presses."
    assert told(notes, Fate.LOST) == []


@pytest.mark.parametrize(
    ("mode", "tolerance", "expected"),
    [
        ("exact", "", 0.0),
        ("absolute", 'tolerance="0.5"', 0.5),
        ("absolute", 'tolerance="0.5 0.2"', 0.2),
        ("relative", 'tolerance="10"', 0.725),
    ],
)
def test_a_typed_number_keeps_its_tolerance(mode, tolerance, expected):
    processing = EQUAL.format(mode=mode, tolerance=tolerance)

    item, _ = only(foreign_item(ENTRY, declared=FLOAT, key=("7.25",), processing=processing))

    assert item.kind == "number"
    assert item.answer.value == 7.25
    assert item.answer.decimals == 2
    assert item.answer.tolerance == pytest.approx(expected)
    assert item.prompt == "How many? … mm"


def test_a_rounded_comparison_becomes_a_tolerance_and_is_told():
    processing = (
        '<qti-response-processing><qti-equal-rounded figures="1" rounding-mode="decimalPlaces">'
        '<qti-variable identifier="RESPONSE"/><qti-correct identifier="RESPONSE"/>'
        "</qti-equal-rounded></qti-response-processing>"
    )

    item, notes = only(foreign_item(ENTRY, declared=FLOAT, key=("7.2",), processing=processing))

    assert item.answer.tolerance == pytest.approx(0.05)
    assert any("rounded" in what for what in told(notes, Fate.CHANGED))


def test_one_order_becomes_a_chain_of_rules_and_that_is_told():
    item, notes = only(foreign_item(ORDER, declared=ORDERED, key=("A", "B", "C")))

    assert [thing.text for thing in item.sequence] == ["First", "Second", "Third"]
    assert [(rule.first, rule.later) for rule in item.before] == [("a", "b"), ("b", "c")]
    assert any("became rules" in what for what in told(notes, Fate.CHANGED))


def test_a_match_keeps_its_pairs_and_what_fits_nothing():
    item, _ = only(foreign_item(MATCH, declared=PAIRED, key=("L0 R2", "L1 R1", "L2 R0")))

    assert [(pair.left, pair.right) for pair in item.pairs] == [
        ("left 0", "right 2"),
        ("left 1", "right 1"),
        ("left 2", "right 0"),
    ]
    assert item.others == ("right 3",)


def test_hotspots_become_circles_and_a_changed_rectangle_is_told():
    body = HOTSPOT.format(src="../img/Housing%201.png", shape="rect", coords="100,10,140,50")

    imported = import_package(
        foreign_package(foreign_item(body), **{"img/Housing 1.png": picture()})
    )

    item = imported.bank.items[0]
    assert item.picture == "housing-1.png"
    assert imported.pictures["housing-1.png"] == picture()
    assert [(one.name, one.at, one.radius, one.correct) for one in item.places] == [
        ("Neck", (40, 50), 20, True),
        ("B", (120, 30), 20, False),
    ]
    assert any("rectangle" in what for what in told(imported.notes, Fate.CHANGED))
