"""Recovery codes: random, and kept only under a slow hash with a salt."""

from __future__ import annotations

import base64

import pytest
from argon2.low_level import Type, hash_secret

from quizsvc.services import recovery_codes

CODE, SALT = "ABCDEFGHIJKLMNOP", "00112233445566778899aabbccddeeff"


def test_the_hash_is_argon2id_with_the_parameters_meant_for_passwords():
    """OWASP Password Storage Cheat Sheet: 19 MiB, two passes, one lane."""
    whole = hash_secret(CODE.encode(), bytes.fromhex(SALT), 2, 19 * 1024, 1, 32, Type.ID).decode()
    head, _, digest = whole.rpartition("$")

    assert head.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert recovery_codes.hashed(CODE, SALT) == base64.b64decode(digest + "=").hex()


@pytest.mark.parametrize(("code", "salt"), [("ABCDEFGHIJKLMNOQ", SALT), (CODE, SALT[::-1])])
def test_another_code_or_salt_gives_another_hash(code, salt):
    assert recovery_codes.hashed(code, salt) != recovery_codes.hashed(CODE, SALT)


def test_a_salt_is_of_128_bits_and_new_each_time():
    """OWASP ASVS 5.0, 6.5.2 asks for 32 bits at least."""
    drawn = {recovery_codes.draw_salt() for _ in range(20)}

    assert len(drawn) == 20
    assert {len(bytes.fromhex(salt)) for salt in drawn} == {16}


def test_codes_are_drawn_evenly_from_the_letters_of_base32():
    """Chi-square over 31 degrees of freedom: a fair draw exceeds 100 once in 290 million."""
    letters = "".join("".join(recovery_codes.draw_codes()) for _ in range(200))
    expected = len(letters) / 32

    counts = [letters.count(one) for one in "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"]

    assert sum(counts) == len(letters) == 200 * 10 * 16
    assert sum((count - expected) ** 2 for count in counts) / expected < 100
