"""What a database says when it cannot, turned into our own errors with a remedy."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionFreeError

from quizsvc.errors import UnavailableError
from quizsvc.store.turns import too_busy


@contextmanager
def clear_errors() -> Iterator[None]:
    """Turn a full disk, a locked file or a lost server into our own error."""
    try:
        yield
    except (OperationalError, sqlite3.OperationalError) as error:
        raise _unavailable(error) from error
    except NoConnectionFreeError as error:
        raise too_busy() from error
    except DBAPIError as error:
        if error.connection_invalidated or _is_not_up_to_date(error) or _is_damaged(error):
            raise _unavailable(error) from error
        raise


def _is_not_up_to_date(error: Exception) -> bool:
    missing_on_server = _sqlstate(error) in {"42P01", "42703"}  # table, column
    said = str(getattr(error, "orig", error))
    return missing_on_server or said.startswith(("no such table", "no such column"))


def _sqlstate(error: Exception) -> str:
    """Return the server's code of the error, "" where it has none."""
    return getattr(getattr(error, "orig", error), "sqlstate", "") or ""


def _is_damaged(error: Exception) -> bool:
    said = str(getattr(error, "orig", error))
    return "malformed" in said or "not a database" in said


class CollidedError(UnavailableError):
    """Undone by the server, since others changed the same at this moment; it may be done again."""


def _unavailable(error: Exception) -> UnavailableError:
    said = str(getattr(error, "orig", error))
    if _sqlstate(error) in {"40001", "40P01"}:  # serialization failure, deadlock (PostgreSQL)
        return CollidedError(
            "others changed the same at this moment; nothing was stored.",
            remedy="Send again in a moment.",
        )
    if _is_damaged(error):
        return UnavailableError(
            f"the database file is damaged ({said}).",
            remedy="Stop the server, run `quizsvc doctor`, and restore the last backup.",
        )
    if "full" in said or "I/O" in said:
        return UnavailableError(
            "the disk could not take it; nothing was stored.",
            remedy="Free some space, then send again.",
        )
    if _is_not_up_to_date(error):
        return UnavailableError(
            f"the database is not up to date ({said.splitlines()[0]}).",
            remedy="Run `quizsvc database upgrade`.",
        )
    if "locked" in said or "busy" in said or "lock timeout" in said:
        return too_busy()
    return UnavailableError(
        f"the database could not do it ({said}); nothing was stored.", remedy="Try again shortly."
    )
