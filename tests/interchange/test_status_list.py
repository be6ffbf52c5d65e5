"""Status lists: places set, order of bits, and what is no list."""

import gzip
from base64 import urlsafe_b64encode

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.interchange.credentials import status_list


@given(st.sets(st.integers(0, status_list.PLACES - 1), max_size=30))
def test_a_status_list_holds_just_the_places_set(places):
    bits = status_list.decode_status_list(status_list.encode_status_list(places))

    assert {
        p for p in range(status_list.PLACES) if bits[p // 8] and status_list.is_set(bits, p)
    } == places


def test_the_most_significant_bit_comes_first():
    # W3C Bitstring Status List 1.0: index 0 is the leftmost bit.
    assert status_list.decode_status_list(status_list.encode_status_list([0]))[0] == 0b1000_0000


def test_a_packed_bomb_is_stopped_at_the_size_of_a_list():
    bomb = "u" + urlsafe_b64encode(gzip.compress(bytes(50_000_000))).decode().rstrip("=")

    with pytest.raises(InputError, match="status list"):
        status_list.decode_status_list(bomb)


@pytest.mark.parametrize("encoded", ["", "u", "zabc", "u!!!!", None, 5])
def test_what_is_no_status_list_is_refused(encoded):
    with pytest.raises(InputError):
        status_list.decode_status_list(encoded)


@pytest.mark.parametrize("place", [-1, status_list.PLACES])
def test_a_place_outside_the_list_is_refused(place):
    with pytest.raises(InputError, match="statusListIndex"):
        status_list.encode_status_list([place])
