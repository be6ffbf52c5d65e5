"""Whether a server is running on an instance folder, so that nobody swaps its database away."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from quizsvc.errors import ConflictError

FILE = "serving.lock"


@contextmanager
def occupied(instance: Path) -> Iterator[None]:
    """Say that a server runs on this instance while the block does; several may."""
    with (instance / FILE).open("a") as file:
        fcntl.flock(file, fcntl.LOCK_SH)
        yield


@contextmanager
def to_itself(instance: Path) -> Iterator[None]:
    """Keep servers out while the block runs.

    Raises:
        ConflictError: a server is running on this instance.
    """
    with (instance / FILE).open("a") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise ConflictError(
                "a server is running on this instance.",
                field="instance",
                value=str(instance),
                remedy="Stop it first.",
            ) from None
        yield
