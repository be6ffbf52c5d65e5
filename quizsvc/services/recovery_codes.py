"""Recovery codes: drawn once, shown once, kept only as slow hashes.

They are of 80 bits, so that a person can type one; a hash meant for passwords makes up for it
(OWASP ASVS 5.0, 6.5.2: below 112 bits). All of a person's codes share one random salt, so that a
code typed costs one hash and not ten.
"""

from __future__ import annotations

import secrets

from argon2.low_level import Type, hash_secret_raw

from quizsvc.rules.second_factor import RECOVERY_BYTES, RECOVERY_CODES, as_letters

SALT_BYTES, HASH_BYTES = 16, 32


def draw_codes() -> tuple[str, ...]:
    """Return new codes in the form they are hashed in."""
    return tuple(as_letters(secrets.token_bytes(RECOVERY_BYTES)) for _ in range(RECOVERY_CODES))


def draw_salt() -> str:
    return secrets.token_hex(SALT_BYTES)


def hashed(code: str, salt: str) -> str:
    """Return the argon2id hash of a code in hex: 19 MiB, two passes, as for passwords."""
    made = hash_secret_raw(
        code.encode(),
        bytes.fromhex(salt),
        time_cost=2,
        memory_cost=19 * 1024,
        parallelism=1,
        hash_len=HASH_BYTES,
        type=Type.ID,
    )
    return made.hex()
