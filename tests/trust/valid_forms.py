"""For every route that takes something in: who sends it, and what to send so that it is taken.

The fields are those of the form on the page, as a browser would send them untouched; here stands
only what has to be filled in, and what has to have happened before. A route that neither has a
form on a page nor stands here is undecided, and the tests that use this say so.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import timedelta

import numpy as np
import sat_again
from certifying import Crew, publish_scheme, sign_off_task, sit_written, with_changes
from classroom import BLANK
from paper.printed_sheets import filled, photographed, printed
from PIL import Image
from second_steps import code_of, turned_on
from sqlalchemy import text
from visitors import NOBODY, Fields
from whole_shop import ASKED_AT, GONE, LATER, OWN, WITHDRAWN
from workshop import PASSWORD, SHEET, Workshop
from written_items import approved

from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Feedback
from quizsvc.rules.certificate_life import CertificateDeed
from quizsvc.rules.certifying import SignOffState
from quizsvc.services import accounts, roster
from quizsvc.services.assigning import questions
from quizsvc.services.certifying import deciding, judging, panels
from quizsvc.services.certifying.panels import CutChoice
from quizsvc.services.house import House
from quizsvc.services.on_paper import documents, printed_items
from quizsvc.services.on_paper.documents import Document
from quizsvc.services.sitting import closing

Values = Mapping[str, object]
ROLES = {"L": Role.LEARNER, "I": Role.INSTRUCTOR, "i": Role.INSTRUCTOR, "M": Role.MANAGER}


@dataclass(frozen=True)
class Sending:
    """What to send to a route, by whom, and what is done before."""

    who: str
    fields: Fields = field(default_factory=dict)
    values: Values = field(default_factory=dict)  # of the address, where others than usual
    values_of: str = ""  # another route, whose address is filled with what this one needs
    query: str = ""
    after: tuple[str, ...] = ()  # routes sent to before
    prepare: Callable[[House], Fields] | None = None  # more fields, once something is done
    cookie: Callable[[House], str] | None = None  # a cookie beside the visitor's
    form_of: str = ""  # another route, whose form is sent here
    writes_nothing: str = ""  # why, where nothing is written


def _actor(house: House, who: str) -> Actor:
    name = {"N": "ina"} | OWN
    with house.read() as connection:
        row = connection.execute(
            text("SELECT id, name FROM person WHERE sign_in_name = :name"), {"name": name[who]}
        ).one()
        shop_id = connection.scalar(text("SELECT min(id) FROM shop"))
    roles = frozenset({ROLES.get(who, Role.INSTRUCTOR)})
    return Actor(row.id, row.name, shop_id, roles)


def _crew(house: House) -> Crew:
    people = {name: _actor(house, who) for who, name in OWN.items() if who != "A"}
    workshop = Workshop(house, people["ana"].shop_id, people)
    others = (people[name] for name in ("ana", "ben", "ida"))
    return Crew(workshop, *others, _actor(house, "N"), people["max"])


def _with_factor(house: House) -> Fields:
    """Turn Ana's second factor on some time ago; return what proves that it is she."""
    ana = _actor(house, "L")
    turned_on(house, ana, now=LATER)
    return {"password": PASSWORD, "code": code_of(house, ana, now=ASKED_AT)}


def _begun_factor(house: House) -> Fields:
    return {"password": PASSWORD, "code": code_of(house, _actor(house, "L"), now=ASKED_AT)}


def _half_way(house: House) -> str:
    half = accounts.sign_in(house, "ana", PASSWORD, now=ASKED_AT, source="192.0.2.10")
    return f"half={half.token}"


def _judged(house: House) -> Fields:
    """Let both judges hand their estimates in."""
    version = _version(house, "To be judged")
    for judge in (_actor(house, "I"), _actor(house, "N")):
        _, questions = judging.sheet_for_judge(house, judge, version)
        chances = {one.place: 0.6 for one in questions}
        judging.estimate(house, judge, version, chances, finish=True, now=LATER)
    return {}


def _with_a_cut(house: House) -> Fields:
    _judged(house)
    cut = (_version(house, "To be judged"), CutChoice.MEAN, "as judged")
    panels.approve_cut(house, _actor(house, "i"), *cut, now=LATER)
    return {}


def _version(house: House, title: str) -> int:
    statement = "SELECT max(id) FROM scheme_version WHERE terms LIKE :title"
    with house.read() as connection:
        return connection.scalar(text(statement), {"title": f"%{title}%"})


def _ben_ready(house: House) -> Fields:
    """Let Ben sit the written test and be signed off, so that he can be decided about."""
    crew = _crew(house)
    version = _version(house, "Timing chains (invented)")
    sit_written(crew, version, crew.ben, now=LATER)
    sign_off_task(crew, version, crew.ben, now=LATER)
    return {}


def _ben_proposed(house: House) -> Fields:
    """Let Ida, who taught him, propose Ben: somebody else must confirm."""
    _ben_ready(house)
    with house.read() as connection:
        form = connection.scalar(text("SELECT max(id) FROM candidate_form"))
    teacher = _actor(house, "I")
    deciding.decide(house, teacher, form, certify=True, reason="", now=LATER + timedelta(hours=1))
    return {}


def _twice_signed_in(house: House) -> Fields:
    accounts.sign_in(house, "ana", PASSWORD, now=ASKED_AT, source="192.0.2.10")
    return {}


def _planned(house: House) -> Fields:
    plan = roster.report(house, _actor(house, "M"), ROSTER.encode())
    return {"text": plan.text, "terms": plan.terms}


def _to_confirm(house: House) -> Fields:
    """Let Ana's sign-off wait for a second person."""
    with house.write() as connection:
        statement = "UPDATE task_sign_off SET state = :state WHERE person_id = 1"
        connection.execute(text(statement), {"state": SignOffState.TO_CONFIRM.value})
    return {}


def _about_cooling(house: House) -> Fields:
    """Write more questions about cooling, so that there are enough for a bridging quiz."""
    for number, prompt in enumerate(ABOUT_COOLING):
        item = {**WITHDRAWN, "id": f"cooling-{number}", "prompt": prompt}
        approved(house, _actor(house, "I"), _actor(house, "N"), LATER, item)
    return {}


def _another_question(house: House) -> Fields:
    with house.read() as connection:
        draft = connection.scalar(text("SELECT id FROM assignment WHERE title = 'To be built'"))
    questions.add_bank_item(house, _actor(house, "I"), draft, item_ref="bank:workshop/several")
    return {}


def _credential(house: House) -> Fields:
    with house.read() as connection:
        return {"text": connection.scalar(text("SELECT max(credential) FROM certificate"))}


def _test_to_mark_again(house: House) -> Fields:
    """Let Ben finish a test, then correct the key of an item it asked."""
    crew, item = _crew(house), _item(house)
    test = sat_again.give_out(crew, AT_END)
    sat_again.sit(crew, test, crew.ben, sat_again.FIRST_KEY)
    closing.count_all_told(house, now=LATER)
    sat_again.correct_key(crew, item, sat_again.CORRECTED, LATER)
    return {"seen": sat_again.plan(crew, item).seen}


def _decision_to_uphold(house: House) -> Fields:
    """Certify Ben by what a key says, then correct the key and mark his test again."""
    crew, item = _crew(house), _item(house)
    terms = with_changes(title="Asks it (invented)", blueprint=sat_again.BLUEPRINT)
    version = publish_scheme(crew, terms)
    sat_again.sit_for_certificate(crew, version, crew.ben, sat_again.FIRST_KEY, certify=True)
    sat_again.correct_key(crew, item, sat_again.CORRECTED, LATER)
    sat_again.mark(crew, item, LATER)
    return {}


def _item(house: House) -> int:
    with house.read() as connection:
        statement = "SELECT id FROM bank_item WHERE entry = 'arm-held'"
        return connection.scalar(text(statement))


def _photograph(house: House) -> Fields:
    """Photograph the second question's sheet of the printed test, filled in."""
    ida = _actor(house, "I")
    pdf = documents.document(house, ida, 1, Document.ANSWERS)
    with house.read() as connection:
        items = printed_items.items_shown(connection, 1, 1)
    chance = np.random.default_rng(5)
    sheet = filled(printed(pdf), printed_items.options_of(items), {1: "B", 2: "A"}, chance)
    return {"pictures": (io.BytesIO(photographed(sheet, chance)), "photo.jpg")}


def _picture(_house: House) -> Fields:
    out = io.BytesIO()
    Image.new("RGB", (30, 40), "navy").save(out, "PNG")
    content = io.BytesIO(out.getvalue())
    return {"picture": (content, "navy.png"), "alt": "A navy field and nothing more on it."}


ROSTER = "name,sign_in_name,role\nNew One,new.one,learner\n"
BANK = """schema_version = 1
id = "sent"
title = "Sent in (invented)"
author = "Test"
"""
ITEM = {
    "do": "save",
    "id": "arm-let-go",
    "topic": "safety",
    "level": "apply",
    "prompt": "A spring tensioner comes out. What is done before its lock is off?",
    "reference": "common practice, no source",
    "caution": "Hold the spring's load; the maker's information and local rules come first.",
    "option-1-text": "Its arm is held by a tool",
    "option-1-correct": "1",
    "option-1-rationale": "Held, the load of the spring goes slowly.",
    "option-3-text": "Its arm is left to strike",
    "option-3-rationale": "The load of the spring comes free at once.",
    "option-4-text": "Its bolt is oiled well",
    "option-4-rationale": "It moves too quickly as it is, oil or not.",
}
OWN_SHEET = SHEET.read_text().replace('id = "demo-inline-four"', 'id = "sent-in"', 1)
QUESTION = {"by": "bank", "item": "bank:workshop/first-step"}
TAKEN = {"password": "seven lamps on a long shelf", "sign_in_name": "some.body", "name": "Some"}
ABOUT_COOLING = (
    "What opens by its wax once the engine has come to its heat?",
    "Cold weather, slow warming: whose valve is stuck open, as a rule?",
    "Of pump, fan and hose, none; name the part that shuts the large circuit after a cold start.",
)
AT_END = replace(BLANK["test"], feedback=Feedback.AT_END, due_at=LATER)
NOTHING = "nothing is to be written: it is looked at and told"

SENDINGS: dict[str, Sending] = {
    "accounts.begin_second_factor": Sending("L"),
    "accounts.change_password": Sending(
        "L", {"present": PASSWORD, "wanted": "seven lamps on a long shelf"}
    ),
    "accounts.check_code": Sending("L", prepare=_with_factor, cookie=_half_way),
    "accounts.check_sign_in": Sending(NOBODY, {"name": "ana", "password": PASSWORD}),
    "accounts.end_sessions": Sending(
        "L", {"present": PASSWORD, "which": "others"}, prepare=_twice_signed_in
    ),
    "accounts.renew_codes": Sending("L", prepare=_with_factor),
    "accounts.sign_out": Sending("L"),
    "accounts.turn_off": Sending("L", prepare=_with_factor),
    "accounts.turn_on": Sending(
        "L", prepare=_begun_factor, after=("accounts.begin_second_factor",)
    ),
    "admin.change": Sending("M", {"name": "Somebody Else"}),
    "admin.change_class": Sending("M", {"person": "6", "part": "instructor"}),
    "admin.invite_somebody": Sending("M", {"name": "New One"}),
    "admin.keep_sign_in_rule": Sending("M", {"role": ["administrator"]}),
    "admin.make_class": Sending("I", {"name": "Group B"}),
    "admin.new_shop": Sending("A", {"name": "Third Workshop"}),
    "admin.report": Sending("M", {"pasted": ROSTER}, writes_nothing=NOTHING),
    "admin.take_over": Sending("M", prepare=_planned),
    "admin.use": Sending(NOBODY, TAKEN),
    "admin.work_in": Sending("L", writes_nothing="Ana works in this shop alone, and goes on there"),
    "bank.check_import": Sending("I", {"pasted": BANK}),
    "bank.decide": Sending("i", {"deed": "commented", "version": "1", "words": "Seen."}),
    "bank.keep_picture": Sending("I", prepare=_picture),
    "bank.make_bank": Sending("I", {"bank_id": "another", "title": "Another (invented)"}),
    "bank.mark_tests_again": Sending(
        "I", {"remedy": "marked again", "why": "The key was wrong."}, prepare=_test_to_mark_again
    ),
    "bank.save": Sending("I", {"do": "save", "reference": "second method"}),
    "bank.write_new": Sending("I", ITEM, query="?bank=ours&kind=one+choice"),
    "certificates.admit": Sending("I", {"scheme": "1", "person": "2"}),
    "certificates.answer_appeal": Sending(
        "i",
        {"deed": "uphold", "answer": "The question had two right keys."},
        after=("certificates.appeal",),
    ),
    "certificates.appeal": Sending("L", {"words": "Look again at the last question."}),
    "certificates.approve_cut": Sending(
        "i",
        {"choice": "mean", "reason": "as judged"},
        values_of="certificates.judge",
        prepare=_judged,
    ),
    "certificates.begin": Sending("I", {"person": "2", "task": "1/chain"}),
    "certificates.confirm": Sending(
        "i", values={"form_id": 2, "decision_id": 2}, prepare=_ben_proposed
    ),
    "certificates.confirm_sign_off": Sending("M", prepare=_to_confirm),
    "certificates.decide_case": Sending(
        "M", {"deed": "certify"}, {"form_id": 2}, prepare=_ben_ready
    ),
    "certificates.do": Sending(
        "M", {"deed": CertificateDeed.SUSPENDED.value, "reason": "Until it is clear."}
    ),
    "certificates.estimate": Sending("I", {f"chance-{place}": "60" for place in range(1, 7)}),
    "certificates.hand_in": Sending("I", {"step": ["1", "2"], "notes": "clean"}),
    "certificates.make": Sending(
        "I",
        {"title": "Another", "scope": "Times what is invented."},
        form_of="certificates.change",
    ),
    "certificates.next_version": Sending("I", values={"version_id": 1}),
    "certificates.open_panel": Sending("M", {"judge": ["3", "6"]}),
    "certificates.publish": Sending("i", values_of="certificates.judge", prepare=_with_a_cut),
    "certificates.revoke_key": Sending("M", {"reason": "It was seen by others."}),
    "certificates.uphold": Sending(
        "M", {"reason": "She showed it."}, {"form_id": 2}, prepare=_decision_to_uphold
    ),
    "classroom.add": Sending("I", QUESTION),
    "classroom.begin": Sending("l"),
    "classroom.change": Sending("I", {"title": "Homework, renamed"}),
    "classroom.extra": Sending("I", {"minutes": "5"}),
    "classroom.issue": Sending("I", values_of="classroom.add", after=("classroom.add",)),
    "classroom.make": Sending("I", {"title": "Another", "class": "1"}),
    "classroom.move_up": Sending(
        "I", {}, {"place": 2}, "classroom.add", after=("classroom.add",), prepare=_another_question
    ),
    "classroom.remove": Sending("I", {}, {"place": 1}, "classroom.add", after=("classroom.add",)),
    "classroom.save": Sending(
        "L", {"choice": "1", "sequence": "1", "key": "k" * 20}, after=("classroom.take_place",)
    ),
    "classroom.stop_calendar": Sending("L"),
    "classroom.take_place": Sending("L"),
    "classroom.void": Sending("I", {"reason": "It was ambiguous."}),
    "practise.answer": Sending("L", {"choice": "1"}),
    "sheets.check": Sending("I", form_of="sheets.send", writes_nothing=NOTHING),
    "sheets.publish": Sending("I", {"revision": "1", "note": "Back to the first."}),
    "sheets.send": Sending("I", {"do": "save", "title": "Our own, renamed", "note": "Renamed."}),
    "sheets.send_file": Sending("I", {"text": OWN_SHEET, "note": "Sent in.", "do": "save"}),
    "sheets.send_new": Sending(
        "I", {"do": "save", "id": "another", "note": "New."}, form_of="sheets.send"
    ),
    "shop.bridge_item": Sending("I", {"item": GONE, "person": "1"}, prepare=_about_cooling),
    "shop.bridge_sheet": Sending("I", {"person": "1"}),
    "shop.erase": Sending("A", {"name": "Ana"}),
    "shop.make_job": Sending("M", {"title": "Another job", "topic": "safety"}),
    "shop.say_read": Sending("L", {"revision": "2"}),
    "shop.set_shift": Sending("M", {"shift": "late"}),
    "teaching.count": Sending("I", after=("teaching.decide",)),
    "teaching.decide": Sending("I", {"q2": "A"}),
    "teaching.make": Sending("I", {"assignment": "1", "variants": "1"}),
    "teaching.read": Sending("I", prepare=_photograph),
    "verifying.check": Sending(NOBODY, prepare=_credential, writes_nothing=NOTHING),
}
