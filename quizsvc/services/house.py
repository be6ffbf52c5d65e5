"""The house everything lives in: settings, the database, and what is kept open per process."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Self, TypeVar

from sqlalchemy import Connection

from quizsvc.config import Settings
from quizsvc.errors import UnavailableError
from quizsvc.services.passwords import Passwords
from quizsvc.services.shelf import Shelf
from quizsvc.store import migrate
from quizsvc.store.engines import Database, open_database, sqlite_warning

SEED_BITS = 62  # fits a signed 64-bit column
T = TypeVar("T")
_log = logging.getLogger(__name__)


def secret_seed() -> int:
    """Return a seed nobody can guess."""
    return secrets.randbits(SEED_BITS)


class House:
    """Opened once per process with `House.open(settings)`; passed to every service.

    ``seeds`` gives the seed of each drawn item; a test or the demo may pass a fixed stream.
    """

    def __init__(
        self, settings: Settings, database: Database, *, seeds: Callable[[], int] = secret_seed
    ) -> None:
        self.settings = settings
        self.database = database
        self.seeds = seeds
        self.passwords = Passwords()
        self.shelf = Shelf()

    @classmethod
    def open(
        cls,
        settings: Settings,
        *,
        upgrade: bool = False,
        seeds: Callable[[], int] = secret_seed,
    ) -> Self:
        """Open the database; with ``upgrade`` bring its tables up to date first.

        Raises:
            UnavailableError: the tables are missing or old, or the database cannot be reached.
        """
        database = open_database(settings.database_url, copy_url=settings.reports_database_url)
        house = cls(settings, database, seeds=seeds)
        if upgrade:
            house.upgrade()
        elif not migrate.is_current(database):
            database.close()
            raise UnavailableError(
                "the database is missing or not up to date.",
                remedy="Run `quizsvc database upgrade`.",
            )
        house._warn()
        return house

    def upgrade(self) -> None:
        """Bring the tables up to date; nothing is left half done if it is killed."""
        migrate.upgrade(self.database)

    def write(self) -> AbstractContextManager[Connection]:
        """Open a transaction that may write; what it wrote is on disk when the block ends."""
        return self.database.write()

    def write_together(self, work: Callable[[Connection], T]) -> T:
        """Run short work in a transaction, shared with others at the same moment where that pays.

        The result is returned once it is on disk. The work may run twice, the first time
        undone: it does nothing but read and write on the connection it is given.
        """
        return self.database.write_together(work)

    def read(self) -> AbstractContextManager[Connection]:
        """Open a transaction that sees one state of the database and cannot write."""
        return self.database.read()

    def read_for_report(self) -> AbstractContextManager[Connection]:
        """Open a reading transaction for a report over many, which may be seconds behind."""
        return self.database.read_for_report()

    def close(self) -> None:
        self.passwords.close()
        self.database.close()

    def _warn(self) -> None:
        if self.settings.database_url.startswith("sqlite") and (warning := sqlite_warning()):
            _log.warning(warning)
