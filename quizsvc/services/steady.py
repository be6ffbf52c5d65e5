"""The server's steady time: what the clock of a sitting goes by.

While anybody sits, it runs with the machine's uptime, which cannot be set; when nobody does, it
follows the machine's clock again. All processes of a machine share one anchor in the database,
so that it outlives their restarts.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from socket import gethostname

from sqlalchemy import Connection

from quizsvc.rules.sitting_clock import SteadyAnchor, laid_anchor
from quizsvc.services.house import House
from quizsvc.store import sittings, steady

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_CLOCK = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)  # suspended time included


@dataclass(frozen=True, slots=True)
class Machine:
    """What a machine can say about time."""

    boot: str
    uptime: Callable[[], timedelta]
    wall: Callable[[], datetime]


@cache
def this_machine() -> Machine:
    return Machine(
        _boot(),
        lambda: timedelta(seconds=time.clock_gettime(_CLOCK)),
        lambda: datetime.now(UTC),
    )


def steady_now(house: House, machine: Machine | None = None) -> datetime:
    """Return steady time; lay or move its anchor where that is allowed."""
    machine = machine or this_machine()
    with house.read() as connection:
        anchor = steady.anchor_of(connection, machine.boot)
        uptime = machine.uptime()
        if anchor is not None and _may_stay(connection, anchor, machine, uptime):
            return anchor.now(uptime)
    return _laid(house, machine).now(machine.uptime())


def _may_stay(
    connection: Connection, anchor: SteadyAnchor, machine: Machine, uptime: timedelta
) -> bool:
    """Return whether the anchor is right, or somebody sits by it so that it must not move."""
    if not anchor.strays(machine.wall(), uptime):
        return True
    return sittings.last_heard_of_running(connection) is not None


def _laid(house: House, machine: Machine) -> SteadyAnchor:
    with house.write() as connection:
        heard = sittings.last_heard_of_running(connection)
        standing = steady.anchor_of(connection, machine.boot)
        if standing is not None and heard is not None:
            return standing  # somebody began meanwhile
        wall = machine.wall()
        anchor = laid_anchor(machine.boot, wall, machine.uptime(), not_before=heard)
        steady.lay_anchor(connection, anchor, now=wall)
    return anchor


def _boot() -> str:
    """Return what names this boot of this machine; elsewhere than on Linux only the machine."""
    if _BOOT_ID.exists():
        return _BOOT_ID.read_text(encoding="ascii").strip()
    return gethostname()[:64]
