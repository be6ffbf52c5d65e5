"""A second factor at sign-in: time-based one-time codes (RFC 6238) and recovery codes.

The common profile is kept, since every authenticator app speaks it: HMAC-SHA-1, six digits,
steps of 30 seconds from the Unix epoch. The step before and the step after are taken too, for
a phone whose clock is not quite right (RFC 6238, 5.2); no step is taken twice.
"""

from __future__ import annotations

import base64
import hmac
from datetime import datetime, timedelta

import pyotp

STEP_SECONDS = 30
DIGITS = 6
DRIFT = 1  # steps, each way
SECRET_BYTES = 20  # 160 bits, as RFC 4226, 4 recommends
RECOVERY_CODES = 10
RECOVERY_BYTES = 10  # 80 bits: 16 characters
HALF_WAY_FOR = timedelta(minutes=5)  # from the right password to the right code
SET_UP_FOR = timedelta(minutes=30)  # from the secret's being shown to its first code
GROUP = 4  # characters, as secrets and recovery codes are written
_MISREAD = str.maketrans("018", "OIB")  # base32 has no such digits


def step_at(now: datetime) -> int:
    """Return the number of the step a moment lies in.

    >>> from datetime import UTC
    >>> step_at(datetime(1970, 1, 1, 0, 0, 59, tzinfo=UTC))
    1
    """
    return int(now.timestamp()) // STEP_SECONDS


def code_at(secret: str, step: int, *, digits: int = DIGITS) -> str:
    """Return the code of a step; ``secret`` is in base32."""
    return pyotp.TOTP(secret, digits=digits, interval=STEP_SECONDS).generate_otp(step)


def matching_step(secret: str, typed: str, *, now: datetime) -> int | None:
    """Return the step whose code was typed, of those that are taken now; else None.

    All are compared, in constant time, so that how long it takes tells nothing.
    """
    code, found = plain_code(typed), None
    for step in range(step_at(now) - DRIFT, step_at(now) + DRIFT + 1):
        if hmac.compare_digest(code_at(secret, step).encode(), code.encode()):
            found = step
    return found


def plain_code(typed: str) -> str:
    """Return a code as typed without spaces and hyphens; "" for what cannot be one.

    >>> plain_code(" 123 456 "), plain_code("12345"), plain_code("½")
    ('123456', '', '')
    """
    code = "".join(typed.replace("-", " ").split())
    return code if len(code) == DIGITS and code.isascii() and code.isdigit() else ""


def plain_recovery_code(typed: str) -> str:
    """Return a recovery code in the one form it is hashed in; "" for what cannot be one.

    >>> plain_recovery_code("abcd-efgh ijkl-mn0p")
    'ABCDEFGHIJKLMNOP'
    """
    code = "".join(typed.replace("-", " ").split()).upper().translate(_MISREAD)
    whole = len(code) == RECOVERY_BYTES * 8 // 5 and code.isascii() and code.isalnum()
    return code if whole else ""


def as_letters(drawn: bytes) -> str:
    """Return random bytes in base32: letters and digits that are not mistaken for each other."""
    return base64.b32encode(drawn).decode().rstrip("=")


def grouped(letters: str, between: str = " ") -> str:
    """Return a long code in groups, to read and to type.

    >>> grouped("ABCDEFGHIJ", "-")
    'ABCD-EFGH-IJ'
    """
    return between.join(letters[at : at + GROUP] for at in range(0, len(letters), GROUP))


def key_address(secret: str, *, account: str, issuer: str) -> str:
    """Return the otpauth address that an authenticator app reads from a QR code."""
    made = pyotp.TOTP(secret, digits=DIGITS, interval=STEP_SECONDS)
    return made.provisioning_uri(name=account, issuer_name=issuer)
