"""Loaded by Python at its start in a trial: lets commits wait or fail as a file orders."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from time import sleep

from sqlalchemy import Connection, Engine, event

ORDER = Path(os.environ["QUIZSVC_TRIAL_DISK"])


@event.listens_for(Engine, "commit")
def obey(connection: Connection) -> None:
    order = ORDER.read_text().split()
    writes = connection.engine.pool.size() == 1  # writers take turns, so they have one connection
    if not order or not writes:
        return
    if order[0] == "slow":
        sleep(int(order[1]) / 1000)
    else:
        raise sqlite3.OperationalError("disk I/O error")
