"""Read the audit log of one's shop, and see whether its chain holds."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Break
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import broken_at
from quizsvc.services.house import House
from quizsvc.store import audit_pages
from quizsvc.store.audit_pages import LoggedDeed

PAGE = 50


@dataclass(frozen=True, slots=True)
class LogPage:
    deeds: tuple[LoggedDeed, ...]
    older: int | None  # number to go on before, or None at the beginning
    broken: Break | None


def log_page(house: House, actor: Actor, *, before: int | None = None) -> LogPage:
    """Return a page of the shop's log; the chain is proved over the whole log."""
    require(actor, May.READ_AUDIT)
    with house.read() as connection:
        found = audit_pages.latest(connection, actor.shop_id, before=before, count=PAGE + 1)
    older = found[PAGE - 1].number if len(found) > PAGE else None
    return LogPage(found[:PAGE], older, broken_at(house))
