"""Whole numbers as browsers send them."""

from __future__ import annotations

import pytest

from quizsvc.errors import InputError
from quizsvc.web.whole_numbers import key_number, whole_number, whole_or_none


@pytest.mark.parametrize(("text", "number"), [("0", 0), (" 12 ", 12), ("007", 7)])
def test_figures_are_read(text, number):
    assert whole_or_none(text) == number


@pytest.mark.parametrize(
    "text", ["", " ", "-1", "+1", "1.0", "1e3", "1_000", "٣", "²", "0x1", "twelve", "9" * 40]
)
def test_anything_else_is_no_number(text):
    assert whole_or_none(text) is None


def test_zeros_in_front_hide_no_long_number():
    assert whole_or_none("0" * 12 + "1") is None


def test_a_number_beyond_the_most_is_refused_by_its_field():
    assert whole_number("60", "number", most=60) == 60

    with pytest.raises(InputError) as refused:
        whole_number("61", "number", most=60)

    assert refused.value.field == "number"


def test_a_key_may_be_larger_than_any_count():
    assert key_number("2000000", "person") == 2_000_000
