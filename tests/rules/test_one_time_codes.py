"""One-time codes against the published vectors, and what is taken as one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from quizsvc.rules import second_factor as rules

# RFC 6238, Appendix B: the secret is the ASCII text "12345678901234567890", mode SHA1.
SECRET = rules.as_letters(b"12345678901234567890")
APPENDIX_B = [
    (59, 0x1, "94287082"),
    (1111111109, 0x23523EC, "07081804"),
    (1111111111, 0x23523ED, "14050471"),
    (1234567890, 0x273EF07, "89005924"),
    (2000000000, 0x3F940AA, "69279037"),
    (20000000000, 0x27BC86AA, "65353130"),
]
NOON = datetime(2026, 3, 2, 12, 0, 10, tzinfo=UTC)


def at(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, tz=UTC)


def code(now: datetime) -> str:
    return rules.code_at(SECRET, rules.step_at(now))


@pytest.mark.parametrize(("seconds", "step", "published"), APPENDIX_B)
def test_the_published_codes_come_out(seconds, step, published):
    assert rules.step_at(at(seconds)) == step
    assert rules.code_at(SECRET, step, digits=8) == published


@pytest.mark.parametrize(("seconds", "step", "published"), APPENDIX_B)
def test_six_digits_are_the_last_six_of_the_published_eight(seconds, step, published):
    """RFC 4226, 5.3: the same number modulo 10 to the power of the digits."""
    assert rules.matching_step(SECRET, published[2:], now=at(seconds)) == step


@pytest.mark.parametrize("steps", [-1, 0, 1])
def test_a_clock_may_be_one_step_off_either_way(steps):
    shown = code(NOON + timedelta(seconds=30 * steps))

    assert rules.matching_step(SECRET, shown, now=NOON) == rules.step_at(NOON) + steps


@pytest.mark.parametrize("steps", [-2, 2])
def test_two_steps_off_is_too_far(steps):
    shown = code(NOON + timedelta(seconds=30 * steps))

    assert rules.matching_step(SECRET, shown, now=NOON) is None


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "abcdef", "١٢٣٤٥٦", "½" * 6, "\x00" * 6])
def test_what_is_no_code_matches_nothing(typed):
    assert rules.plain_code(typed) == ""
    assert rules.matching_step(SECRET, typed, now=NOON) is None


def test_a_code_may_be_typed_in_groups():
    shown = code(NOON)

    assert rules.matching_step(SECRET, f" {shown[:3]} {shown[3:]}", now=NOON) is not None


@pytest.mark.parametrize(
    "typed", ["abcd efgh ijkl mnop", "ABCDEFGHIJKLMNOP", "abcd-efgh-ijkl-mn0p"]
)
def test_a_recovery_code_may_be_typed_in_any_case_and_with_misread_zeros(typed):
    assert rules.plain_recovery_code(typed) == "ABCDEFGHIJKLMNOP"


@pytest.mark.parametrize("typed", ["", "ABCD", "A" * 17, "ä" * 16, "A" * 15 + "\x00"])
def test_what_is_no_recovery_code_is_none(typed):
    assert rules.plain_recovery_code(typed) == ""


def test_the_address_in_the_picture_says_what_an_app_needs():
    address = urlsplit(rules.key_address(SECRET, account="ana b", issuer="quizsvc example.org"))

    assert (address.scheme, address.netloc) == ("otpauth", "totp")
    assert address.path == "/quizsvc%20example.org:ana%20b"
    told = parse_qs(address.query)
    assert told["secret"] == [SECRET]
    assert told["issuer"] == ["quizsvc example.org"]
    # The rest is the profile apps take for granted; said or not, it is this.
    assert told.get("period", ["30"]) == ["30"]
    assert told.get("digits", ["6"]) == ["6"]
    assert told.get("algorithm", ["SHA1"]) == ["SHA1"]


def test_secrets_and_recovery_codes_are_long_enough():
    """RFC 4226, 4, R6: 160 bits recommended for the secret; 64 bits wanted for recovery."""
    assert rules.SECRET_BYTES * 8 >= 160
    assert rules.RECOVERY_BYTES * 8 >= 64
