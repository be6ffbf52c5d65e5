"""Close what has ended though nobody is connected, and count what may be told by now."""

from __future__ import annotations

from datetime import datetime

from quizsvc.services.house import House
from quizsvc.services.sitting import closing
from quizsvc.services.steady import steady_now


def sweep_sittings(house: House, _wall: datetime) -> int:
    """Close every sitting whose time is over by steady time; return how many.

    Several processes may sweep at once: a sitting is closed by one of them.
    """
    now = steady_now(house)
    closed = closing.close_all_over(house, now=now)
    closing.count_all_told(house, now=now)
    return closed
