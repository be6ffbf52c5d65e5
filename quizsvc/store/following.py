"""How far a copy of the database, kept up to date by the server itself, is behind."""

from __future__ import annotations

from sqlalchemy import create_engine, text

from quizsvc.store.failures import clear_errors

# Where everything received has been applied, the copy is level, however long ago that was.
_BEHIND = """
SELECT CASE
  WHEN NOT pg_is_in_recovery() THEN NULL
  WHEN pg_last_wal_receive_lsn() = pg_last_wal_replay_lsn() THEN 0
  ELSE extract(epoch FROM now() - pg_last_xact_replay_timestamp())
END
"""


def seconds_behind(url: str) -> float | None:
    """Return how many seconds the copy at the address is behind; None where it is no copy.

    Raises:
        UnavailableError: it does not answer.
    """
    engine = create_engine(url)
    try:
        with clear_errors(), engine.connect() as connection:
            seconds = connection.execute(text(_BEHIND)).scalar_one()
    finally:
        engine.dispose()
    return None if seconds is None else float(seconds)
