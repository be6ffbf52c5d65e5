"""The clock of a sitting: how long it has run, when it ends, and what a pause does to that.

Times are the server's steady time (see `SteadyAnchor`): it runs evenly while anybody sits a
test, whatever is done to the machine's clock, so that setting that clock an hour forward ends
nothing and setting it back extends nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from quizsvc.errors import InputError

NOTHING = timedelta(0)
GRACE = timedelta(seconds=5)  # an answer sent in the last second is still on its way
LONGEST = timedelta(hours=24)
TOLERATED = timedelta(seconds=2)  # between clocks that nobody has touched
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class SittingClock:
    """The clock of one sitting; ``allowed`` None means it has no time limit.

    ``added`` is what was given during the sitting. ``paused`` is the length of the pauses that
    are over; ``paused_at`` is the start of the one that lasts.
    """

    opened_at: datetime
    allowed: timedelta | None
    added: timedelta = NOTHING
    paused: timedelta = NOTHING
    paused_at: datetime | None = None

    def stood_still(self, now: datetime) -> timedelta:
        """Return the length of all pauses so far."""
        lasting = max(NOTHING, now - self.paused_at) if self.paused_at else NOTHING
        return self.paused + lasting

    def deadline(self, now: datetime) -> datetime | None:
        """Return when the time ends, as seen now: it moves on while the clock stands.

        >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
        >>> clock = SittingClock(noon, timedelta(minutes=30)).pause(noon + timedelta(minutes=10))
        >>> clock.deadline(noon + timedelta(minutes=15)).strftime("%H:%M")
        '12:35'
        """
        if self.allowed is None:
            return None
        return self.opened_at + self.allowed + self.added + self.stood_still(now)

    def left(self, now: datetime) -> timedelta | None:
        """Return the time left, never below zero; None without a limit."""
        end = self.deadline(now)
        return None if end is None else max(NOTHING, end - now)

    def is_over(self, now: datetime) -> bool:
        """Return whether the time is up; never while the clock stands."""
        end = self.deadline(now)
        return self.paused_at is None and end is not None and now >= end

    def takes_answers(self, now: datetime) -> bool:
        """Return whether an answer that arrives now still counts: up to `GRACE` after the end."""
        end = self.deadline(now)
        return end is None or now < end + GRACE

    def is_past_grace(self, now: datetime) -> bool:
        return self.paused_at is None and not self.takes_answers(now)

    def pause(self, now: datetime) -> SittingClock:
        return self if self.paused_at else replace(self, paused_at=now)

    def go_on(self, now: datetime) -> SittingClock:
        return replace(self, paused=self.stood_still(now), paused_at=None)

    def add(self, span: timedelta) -> SittingClock:
        """Return the clock with more time.

        Raises:
            InputError: no time, negative time, or more than a day.
        """
        if not NOTHING < span <= LONGEST:
            raise InputError(
                "the time to add must be more than nothing and at most a day.",
                field="minutes",
                value=round(span.total_seconds() / 60, 2),
                remedy="Give the minutes to add as a whole number, 5 for example.",
            )
        return replace(self, added=self.added + span)


@dataclass(frozen=True, slots=True)
class SteadyAnchor:
    """Where steady time stands against the machine's uptime, for one boot of one machine.

    Uptime (suspended time included) is the same for all processes of a machine, outlives their
    restarts, and cannot be set. ``offset`` added to it gives steady time.
    """

    boot: str
    offset: timedelta  # from uptime to time since 1970

    def now(self, uptime: timedelta) -> datetime:
        return _EPOCH + self.offset + uptime

    def strays(self, wall: datetime, uptime: timedelta) -> bool:
        """Return whether the machine's clock has been set since the anchor was laid."""
        return abs(wall - self.now(uptime)) > TOLERATED


def laid_anchor(
    boot: str, wall: datetime, uptime: timedelta, *, not_before: datetime | None
) -> SteadyAnchor:
    """Return an anchor at the machine's clock, but never before what has been seen already.

    ``not_before`` is the last time at which anything is known to have happened in a sitting that
    is running. Within one boot a set clock is never mistaken for time that passed. Over a restart
    of the machine only a clock set back is noticed; the time it was off counts as time that
    passed, and whoever runs the test gives it back by adding minutes.
    """
    start = max(wall, not_before) if not_before else wall
    return SteadyAnchor(boot, start - _EPOCH - uptime)
