"""From the fields of an item's page to what was given."""

import pytest
from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import BenchStart, BenchTask
from quizsvc.services.shown import Given
from quizsvc.web.practise.forms import given_in

PLACED = {"place-1": "2", "place-2": "1", "place-3": "4", "place-4": "3"}


def test_a_choice_is_the_position_shown():
    fields = MultiDict({"choice": "3"})

    assert given_in(fields) == Given(choices=(3,))


def test_several_choices_are_all_read():
    fields = MultiDict([("choice", "1"), ("choice", "4")])

    assert given_in(fields) == Given(choices=(1, 4))


def test_a_number_is_passed_on_as_typed():
    fields = MultiDict({"number": " 12,5 "})

    assert given_in(fields) == Given(number=" 12,5 ")


def test_places_given_to_things_become_their_order():
    assert given_in(MultiDict(PLACED)) == Given(order=(2, 1, 4, 3))


def test_a_place_given_twice_is_named():
    fields = MultiDict(PLACED | {"place-2": "2"})

    with pytest.raises(InputError) as refused:
        given_in(fields)

    assert (refused.value.field, refused.value.value) == ("order", 2)
    assert "1 to 4" in refused.value.remedy


def test_a_place_beyond_the_last_is_refused():
    fields = MultiDict(PLACED | {"place-2": "5"})

    with pytest.raises(InputError) as refused:
        given_in(fields)

    assert refused.value.value == 5


@pytest.mark.parametrize("name", ["place", "partner"])
def test_a_line_left_out_is_named(name):
    with pytest.raises(InputError) as refused:
        given_in(MultiDict({f"{name}-1": "1", f"{name}-2": ""}))

    assert refused.value.field == name
    assert "line 2" in refused.value.problem


def test_partners_are_paired_with_their_things():
    fields = MultiDict({"partner-1": "2", "partner-2": "2"})

    assert given_in(fields) == Given(pairs=((1, 2), (2, 2)))


def test_a_place_on_the_figure_is_its_position():
    assert given_in(MultiDict({"place": "2"})) == Given(place=2)


def test_nothing_chosen_is_left_to_the_service_to_refuse():
    assert given_in(MultiDict()) == Given()
    assert given_in(MultiDict({"place": "", "number": ""})) == Given()


@pytest.mark.parametrize("text", ["a", "-1", "1.0", "²", "9999", "1; drop table", " 1"])
@pytest.mark.parametrize("name", ["choice", "place", "place-1", "partner-1"])
def test_what_is_no_position_is_refused(name, text):
    with pytest.raises(InputError) as refused:
        given_in(MultiDict({name: text}))

    assert refused.value.value == text
    assert name.startswith(refused.value.field)


def test_fields_of_other_names_are_left_alone():
    assert given_in(MultiDict({"place-x": "7", "place-1234": "7", "key": "7"})) == Given()


START = BenchStart(BenchTask.REFIT, crank_deg=0.0, drive="primary", teeth_off=2)


@pytest.mark.parametrize(("ahead", "off"), [("2", "0"), ("0", "2"), ("-1", "3"), ("4", "-2")])
def test_a_late_camshaft_turned_ahead_is_less_late(ahead, off):
    assert given_in(MultiDict({"ahead": ahead}), lambda: START) == Given(number=off)


@pytest.mark.parametrize("ahead", ["", "two", "12", "2.5", "--1"])
def test_a_turn_that_cannot_be_read_is_refused(ahead):
    with pytest.raises(InputError):
        given_in(MultiDict({"ahead": ahead}), lambda: START)


def test_a_turn_on_an_item_without_a_bench_is_refused():
    with pytest.raises(InputError):
        given_in(MultiDict({"ahead": "1"}))
