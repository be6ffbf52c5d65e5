"""Bitstring status lists: whether a credential is revoked or suspended, one bit each.

A list always holds 131,072 places so that one credential hides among many; places are given at
random by whoever keeps the list. Most significant bit first, gzip, base64url without padding,
"u" before it. Source: W3C, Bitstring Status List 1.0.
"""

from __future__ import annotations

import base64
import gzip
import zlib
from collections.abc import Iterable

from quizsvc.errors import InputError

PLACES = 131_072
_BYTES = PLACES // 8


def encode_status_list(set_places: Iterable[int]) -> str:
    """Return the encoded list in which just ``set_places`` are 1.

    >>> decode_status_list(encode_status_list([0, 9]))[:2].hex()
    '8040'
    """
    bits = bytearray(_BYTES)
    for place in set_places:
        _check(place)
        bits[place // 8] |= 0x80 >> place % 8
    packed = gzip.compress(bytes(bits), mtime=0)  # no time inside: same bits, same text
    return "u" + base64.urlsafe_b64encode(packed).rstrip(b"=").decode()


def decode_status_list(encoded: object) -> bytes:
    """Return the bits.

    Raises:
        InputError: not such a list, or one that unpacks to more or less than a list's size.
    """
    problem = InputError("this is no status list.", field="encodedList")
    if not isinstance(encoded, str) or not encoded.startswith("u"):
        raise problem
    body = encoded[1:].encode()
    try:
        packed = base64.urlsafe_b64decode(body + b"=" * (-len(body) % 4))
        unpacker = zlib.decompressobj(wbits=31)
        # A bomb stops here: never more than a list and one byte is unpacked.
        bits = unpacker.decompress(packed, _BYTES + 1)
    except (ValueError, zlib.error):
        raise problem from None
    if len(bits) != _BYTES:
        raise problem
    return bits


def is_set(bits: bytes, place: int) -> bool:
    _check(place)
    return bool(bits[place // 8] & (0x80 >> place % 8))


def _check(place: int) -> None:
    if not 0 <= place < PLACES:
        raise InputError(
            f"a place in the list is 0 to {PLACES - 1}.", field="statusListIndex", value=place
        )
