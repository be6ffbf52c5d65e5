"""Whether this process can do its work just now."""

from __future__ import annotations

from quizsvc.errors import UnavailableError
from quizsvc.services.house import House
from quizsvc.store import migrate


def require_ready(house: House) -> None:
    """Return if the database can be read and its tables are up to date.

    Raises:
        UnavailableError: one of them is not so.
    """
    if not migrate.is_current(house.database):
        raise UnavailableError(
            "the database is not up to date.", remedy="Run `quizsvc database upgrade`."
        )
