"""The JSON of an item: exactly the agreed names, for every kind of question."""

import json

import pytest
from valid_sheets import INLINE_FOUR

from quizsvc.figures.scene import Scene
from quizsvc.items.as_json import figure_alt, item_json, item_line
from quizsvc.items.model import Area, Asked, Given, Item, Key, Kind, Level, Option, Step


def item(kind: Kind, **changes) -> Item:
    stated = {
        "family": "tooth-degrees",
        "version": 1,
        "topic": "marks",
        "level": Level.APPLY,
        "kind": kind,
        "sheet": INLINE_FOUR,
        "revision": 1,
        "prompt": "How many?",
        "givens": {"cam_teeth": Given(36), "firing_order": Given((1, 3, 4, 2))},
        "asked": Asked("crank_deg", "°", 1),
        "key": Key(),
        "options": (),
        "steps": (Step("Divide.", 20.0, "°"), Step("Done.")),
        "figure_alt": "Two sprockets.",
        "caution": "Turn by hand.",
    }
    return Item(**(stated | changes))


def option(text: str, value, *, correct: bool = False) -> Option:
    return Option(text, value, correct=correct, misconception="" if correct else "cam-for-crank")


def test_a_number_carries_value_and_tolerance():
    line = item_json(item(Kind.NUMBER, key=Key(20.0, 0.5)))

    assert line["key"] == {"value": 20.0, "tolerance": 0.5}
    assert line["asked"] == {"quantity": "crank_deg", "unit": "°", "decimals": 1}
    assert line["steps"][0] == {"text": "Divide.", "value": 20.0, "unit": "°"}


def test_one_choice_names_the_place_of_the_right_option():
    options = (option("10°", 10.0), option("20°", 20.0, correct=True))

    line = item_json(item(Kind.ONE_CHOICE, key=Key(20.0), options=options))

    assert line["key"] == {"value": 20.0, "tolerance": 0.0, "option": 1}
    assert line["options"][0] == {
        "text": "10°",
        "value": 10.0,
        "correct": False,
        "misconception": "cam-for-crank",
    }


def test_a_choice_of_words_has_the_right_words_value_as_its_key():
    options = (option("power", "power", correct=True), option("intake", "intake"))

    assert item_json(item(Kind.ONE_CHOICE, options=options))["key"]["value"] == "power"


def test_several_choices_list_the_places_of_all_right_options():
    options = (option("a", "a", correct=True), option("b", "b"), option("c", "c", correct=True))

    line = item_json(item(Kind.SEVERAL_CHOICES, options=options))

    assert line["key"]["option"] == [0, 2]
    assert line["key"]["value"] == ["a", "c"]


def test_order_and_match_have_their_answer_as_value():
    order = item_json(item(Kind.ORDER, key=Key(sequence=("lock", "turn"))))
    match = item_json(item(Kind.MATCH, key=Key(pairs=(("1", "power"),))))

    assert order["key"]["value"] == ("lock", "turn")
    assert match["key"]["value"] == [("1", "power")]


def test_a_point_names_the_right_places():
    options = (option("pin 3", "pin 3", correct=True), option("pin 4", "pin 4"))
    point = item(Kind.POINT, key=Key(areas=(Area("pin 3", (1, 2), 3),)), options=options)

    assert item_json(point)["key"] == {"value": "pin 3", "tolerance": 0.0, "option": [0]}


def test_a_line_is_one_line_of_json_without_escapes():
    line = item_line(item(Kind.NUMBER, key=Key(20.0), prompt="Wie viel °?"))

    assert "\n" not in line
    assert "°" in line
    assert json.loads(line)["givens"]["firing_order"]["value"] == [1, 3, 4, 2]


def test_a_key_that_is_no_number_is_never_printed():
    with pytest.raises(ValueError, match="JSON compliant"):
        item_line(item(Kind.NUMBER, key=Key(float("nan"))))


def test_the_words_of_a_figure_are_drawn_only_where_the_item_does_not_bring_them():
    def drawn() -> Scene:
        return Scene(10, 10, (), "As drawn.")

    def never() -> Scene:
        raise AssertionError("drawn for nothing")

    assert figure_alt(item(Kind.NUMBER, figure=never)) == "Two sprockets."
    assert figure_alt(item(Kind.NUMBER, figure=drawn, figure_alt="")) == "As drawn."
    assert figure_alt(item(Kind.NUMBER, figure_alt="", picture_alt="A photo.")) == "A photo."
