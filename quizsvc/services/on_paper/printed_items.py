"""Printed tests of the assignments somebody runs, and their items as they were printed."""

from __future__ import annotations

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.assigning.access import runs
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.store import printed_tests, shown_items
from quizsvc.store.printed_tests import StoredItem, StoredTest

VARIANT_NAMES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def printed_by(connection: Connection, actor: Actor, test_id: int) -> StoredTest:
    """Return a printed test of an assignment the actor runs; any other looks like none."""
    require(actor, May.ASSIGN)
    test = printed_tests.find_test(connection, test_id)
    if test is None or test.shop_id != actor.shop_id or test.assignment_id is None:
        raise NotFoundError(
            "there is no such printed test for you.",
            field="printed test",
            value=test_id,
            remedy="Choose one of the list.",
        )
    runs(connection, actor, test.assignment_id)
    return test


def items_shown(
    connection: Connection, test_id: int, variant: int
) -> tuple[tuple[StoredItem, Item], ...]:
    """Return the items of a variant as they were printed."""
    return tuple(
        (one, thaw(shown_items.content_of(connection, one.shown_hash)))
        for one in printed_tests.items_of(connection, test_id, variant)
    )


def options_of(items: tuple[tuple[StoredItem, Item], ...]) -> tuple[int, ...]:
    return tuple(len(item.options) for _, item in items)
