"""Which places the head of the page leads to, by role."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from flask import request, url_for

from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, allows


@dataclass(frozen=True, slots=True)
class Way:
    title: str
    address: str
    here: bool


# Every role practises; what a role alone may see is added where its pages are.
_FOR_EVERYONE = (
    ("Practice", "practise.overview"),
    ("Bench", "bench.engines"),
    ("History", "practise.history"),
    ("Due", "classroom.due"),
    ("My certificates", "certificates.own"),
    ("My record", "shop.record"),
    ("My account", "accounts.own"),
)
_BY_RIGHT = (
    (May.WATCH, "Assignments", "classroom.assignments"),
    (May.SEE_CLASS_RECORDS, "Teaching", "teaching.classes"),
    (May.KEEP_CLASSES, "People", "admin.classes"),
    (May.SEE_READINESS, "Shop", "shop.matrix"),
    (May.SEE_CERTIFICATION, "Certification", "certificates.listed"),
    (May.WRITE_ITEMS, "Items", "bank.index"),
    (May.WRITE_SHEETS, "Engine sheets", "sheets.listed"),
    (May.WRITE_ITEMS, "Families", "families.listed"),
)
_UNDER = {
    **dict.fromkeys(
        (
            *("accounts.second_factor", "accounts.begin_second_factor", "accounts.turn_on"),
            *("accounts.renew_codes", "accounts.turn_off", "accounts.password"),
            *("accounts.change_password", "accounts.sessions", "accounts.end_sessions"),
        ),
        "accounts.own",
    ),
    **dict.fromkeys(
        (
            *("shop.cover", "shop.trend", "shop.jobs", "shop.new_job", "shop.make_job"),
            *("shop.job", "shop.keep_job", "shop.person", "shop.changes", "shop.sheet_change"),
            "shop.item_change",
        ),
        "shop.matrix",
    ),
    **dict.fromkeys(("shop.read_sheet", "shop.privacy"), "shop.record"),
    "practise.item": "practise.overview",
    "practise.outcome": "practise.overview",
    "bench.engine": "bench.engines",
    **dict.fromkeys(
        (
            "classroom.before",
            "classroom.question",
            "classroom.ending",
            "classroom.review",
            "classroom.calendar",
        ),
        "classroom.due",
    ),
    **dict.fromkeys(
        (
            "classroom.new",
            "classroom.make",
            "classroom.build",
            "classroom.terms",
            "classroom.watch",
            "classroom.kept",
        ),
        "classroom.assignments",
    ),
    **dict.fromkeys(
        (
            "admin.people",
            "admin.person",
            "admin.class_page",
            "admin.roster",
            "admin.report",
            "admin.take_over",
            "admin.invitations",
            "admin.sign_in_rule",
            "admin.log",
            "admin.shops",
        ),
        "admin.classes",
    ),
    **dict.fromkeys(
        (
            *("sheets.sheet", "sheets.new", "sheets.edit", "sheets.send", "sheets.send_new"),
            *("sheets.upload", "sheets.send_file", "sheets.difference"),
        ),
        "sheets.listed",
    ),
    **dict.fromkeys(
        (
            *("teaching.report", "teaching.lesson", "teaching.items", "teaching.item"),
            *("teaching.form", "teaching.paper", "teaching.printed", "teaching.sheet"),
        ),
        "teaching.classes",
    ),
    "families.family": "families.listed",
    **dict.fromkeys(
        (
            *("certificates.new", "certificates.make", "certificates.scheme", "certificates.terms"),
            *("certificates.change", "certificates.judge", "certificates.estimate"),
            *("certificates.standards", "certificates.candidates", "certificates.admit"),
            *("certificates.case", "certificates.rebuilt", "certificates.sign_offs"),
            *("certificates.begin", "certificates.sign_off_page", "certificates.issued"),
            *("certificates.certificate", "certificates.keys"),
        ),
        "certificates.listed",
    ),
    **dict.fromkeys(
        (
            *("bank.choose_kind", "bank.write", "bank.write_new", "bank.item", "bank.edit"),
            *("bank.save", "bank.decide", "bank.difference", "bank.remark", "bank.pictures"),
            *("bank.keep_picture", "bank.banks", "bank.make_bank", "bank.bring_in", "bank.work"),
            *("bank.check_import", "bank.tests_again", "bank.mark_tests_again"),
        ),
        "bank.index",
    ),
}


def ways_for(actor: Actor) -> tuple[Way, ...]:
    """Return the ways to one's own learning and record."""
    return () if _stands_before_the_gate(actor) else _ways(_FOR_EVERYONE)


def duties_for(actor: Actor) -> tuple[Way, ...]:
    """Return the ways to the work one does for others; empty for whoever only learns."""
    if _stands_before_the_gate(actor):
        return ()
    return _ways((title, place) for right, title, place in _BY_RIGHT if allows(actor, right))


def _stands_before_the_gate(actor: Actor) -> bool:
    """Return whether no way is open but to set up a second factor (see accounts.gate)."""
    return actor.owes_second_factor and (request.endpoint or "").startswith("accounts.")


def _ways(places: Iterable[tuple[str, str]]) -> tuple[Way, ...]:
    here = _UNDER.get(request.endpoint or "", request.endpoint)
    return tuple(Way(title, url_for(place), place == here) for title, place in places)
