"""Numbers as people type them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.scoring.numbers import LONGEST, parse_number


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("12,5", 12.5),
        ("12.5", 12.5),
        ("−3", -3.0),
        ("–3", -3.0),
        ("-3", -3.0),
        ("+3", 3.0),
        ("- 3", -3.0),
        ("1 234,5", 1234.5),
        ("1\u00a0234,5", 1234.5),
        ("1\u202f234.5", 1234.5),
        ("1'234", 1234.0),
        ("1’234", 1234.0),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234.567", 1234567.0),
        ("1.234", 1.234),
        ("0,125", 0.125),
        (",5", 0.5),
        ("5.", 5.0),
        ("  7  ", 7.0),
        ("-0", 0.0),
    ],
)
def test_usual_ways_to_write_a_number_are_understood(typed, number):
    assert parse_number(typed) == number
    assert str(parse_number(typed)) == str(number)


@pytest.mark.parametrize(
    ("typed", "unit"),
    [
        ("30°", "°"),
        ("30 deg", "°"),
        ("30 degrees", "°"),
        ("30 mm", "mm"),
        ("30MM", "mm"),
        ("30 %", "%"),
        ("30 pin", "pins"),
        ("30", "mm"),
    ],
)
def test_the_unit_asked_for_may_stand_behind(typed, unit):
    assert parse_number(typed, unit=unit) == 30


@pytest.mark.parametrize(
    "typed",
    ["", "   ", "nan", "NaN", "inf", "-inf", "∞", "twelve", "1/2", "1e3", "1 23", "1.234.5",
     "1,2,3", "--3", "-", ".", "٣", "12 in", "0x10", "1_000", "9" * 30, "<script>"],
)  # fmt: skip
def test_what_is_no_number_is_refused_with_field_value_and_remedy(typed):
    with pytest.raises(InputError) as refused:
        parse_number(typed, field="angle", unit="mm")

    assert refused.value.field == "angle"
    assert refused.value.value == typed
    assert refused.value.remedy


def test_a_number_that_can_be_read_in_two_ways_is_refused_rather_than_guessed():
    with pytest.raises(InputError, match=r"Write 1234 or 1\.234"):
        parse_number("1,234")


def test_an_endless_text_is_refused_without_being_repeated_whole():
    with pytest.raises(InputError) as refused:
        parse_number("1" * 100_000)

    assert len(refused.value.value) <= LONGEST + 1


@given(st.decimals(-1_000_000, 1_000_000, places=3))
def test_any_decimal_is_read_back_with_comma_or_point(value):
    if "," in (text := f"{value:f}".replace(".", ",")) and len(text.lstrip("-")) <= 7:
        text = f"{value:.2f}".replace(".", ",")  # three places could be thousands
        value = round(value, 2)

    assert parse_number(f"{value:f}") == float(value)
    assert parse_number(text) == pytest.approx(float(value))


@given(st.text(max_size=60))
def test_any_text_gives_a_finite_number_or_a_clear_refusal(text):
    remedies: list[str | None] = []
    number = 0.0
    try:
        number = parse_number(text)
    except InputError as refused:
        remedies.append(refused.remedy)

    assert all(remedies)
    assert abs(number) <= 1e12
