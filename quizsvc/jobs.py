"""The worker: a thread beside the server that does what stands in the job table.

The table lies in the database everything else lies in, so that an answer and the work it leads to
are stored in one transaction and a stopped server goes on where it was. Several processes may
each run a worker; a job is claimed by one of them.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from quizsvc.errors import QuizsvcError
from quizsvc.services import (
    import_items,  # noqa: F401 - it registers work
    import_report,  # noqa: F401 - it registers work
    remark,  # noqa: F401 - it registers work
    studies_due,
)
from quizsvc.services.background import run_next
from quizsvc.services.house import House
from quizsvc.services.sitting.sweeping import sweep_sittings
from quizsvc.services.team_trend import WeeklyCount
from quizsvc.services.tests_again import following  # noqa: F401 - it registers work

PAUSE_SECONDS = 1.0  # between two looks at an empty queue
Chore = Callable[[House, datetime], object]  # done at every look
CHORES: tuple[Chore, ...] = (sweep_sittings, studies_due.study_when_due, WeeklyCount())
_log = logging.getLogger(__name__)


def utc_now() -> datetime:
    return datetime.now(UTC)


class Worker:
    """Does jobs one after another until it is stopped."""

    def __init__(
        self,
        house: House,
        *,
        clock: Callable[[], datetime] = utc_now,
        chores: Sequence[Chore] = CHORES,
        pause: float = PAUSE_SECONDS,
    ) -> None:
        self._house, self._clock, self._chores, self._pause = house, clock, chores, pause
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._work, name="quizsvc-jobs", daemon=True)

    def start(self) -> Worker:
        self._thread.start()
        return self

    def stop(self) -> None:
        """Finish the job at hand, then end."""
        self._stopped.set()
        self._thread.join()

    def _work(self) -> None:
        while not self._stopped.is_set():
            if not self._did_something():
                self._stopped.wait(self._pause)

    def _did_something(self) -> bool:
        try:
            for chore in self._chores:
                chore(self._house, self._clock())
            return run_next(self._house, self._clock)
        except QuizsvcError as trouble:  # a busy or lost database: look again later
            _log.warning("the worker could not work: %s", trouble)
            return False
        except Exception:  # noqa: BLE001 - the worker lives on, whatever a job did
            _log.exception("the worker failed")
            return False
