"""Teaching in the browser: class reports, lessons, item studies, and a test on paper and back."""

from __future__ import annotations

import io
import re
from datetime import timedelta

import numpy as np
import pytest
from furnished import START
from paper.printed_sheets import filled, photographed, printed
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

from quizsvc.items.model import Kind
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Form, Terms
from quizsvc.services import studies_due
from quizsvc.services.assigning import choices, drafting, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.on_paper.printed_items import items_shown, options_of
from quizsvc.store import classes, people
from quizsvc.store.classes import Part

TERMS = Terms("Safety on paper", Form.HOMEWORK, START, None)


@pytest.fixture
def ivo(house):
    """An instructor who leads a class of one learner."""
    with house.write() as connection:
        ids = {name: people.find_for_sign_in(connection, name) for name in ("ivo", "lea")}
        shop = people.find_shop(connection, "Invented Garage")
        room = classes.add_class(connection, shop, "Invented class", now=START)
        for name, part in (("ivo", Part.INSTRUCTOR), ("lea", Part.LEARNER)):
            classes.add_member(connection, room, ids[name].person_id, part, now=START)
    return Actor(ids["ivo"].person_id, "Ivo", shop, frozenset({Role.INSTRUCTOR}))


@pytest.fixture
def room(house, ivo):
    with house.read() as connection:
        return next(iter(classes.led_by(connection, ivo.person_id)))


@pytest.fixture
def instructor(ivo, client):
    assert ivo
    assert client.sign_in("ivo").status_code == 302
    return client


def test_an_instructor_finds_the_class_and_its_report(instructor, room):
    listed = instructor.get("/teaching/").text
    report = instructor.get(f"/teaching/classes/{room}?days=90").text

    assert "Invented class" in listed
    assert "No wrong idea is held now" in report
    assert "Nobody has answered here yet" in report


@pytest.mark.parametrize("address", ["/teaching/classes/1?days=5", "/teaching/classes/1?days=x"])
def test_a_period_that_is_none_is_told(instructor, address):
    assert instructor.get(address).status_code in {400, 422}


def test_a_lesson_can_be_read_and_printed(instructor):
    page = instructor.get("/teaching/lessons/first-pin-counted")
    pdf = instructor.get("/teaching/lessons/first-pin-counted.pdf")

    assert "What one might think" in page.text
    assert page.text.count("<figure") >= 2
    assert (pdf.mimetype, pdf.data[:5]) == ("application/pdf", b"%PDF-")
    assert instructor.get("/teaching/lessons/nothing").status_code == 404


def test_items_are_listed_once_they_are_studied(instructor, house, app):
    assert "Nothing studied yet" in instructor.get("/teaching/items").text
    learner = app.test_client()
    learner.sign_in("lea")
    address = learner.put_written("Which hand turns")
    learner.answer(address, {"choice": "1"})

    studies_due.study_due(house, now=START + timedelta(hours=1), least=1)

    listed = instructor.get("/teaching/items").text
    (item,) = set(re.findall(r'href="(/teaching/items/bank[^"]+)"', listed))
    assert "Too few answers to act on" in instructor.get(item).text


def test_a_study_can_be_asked_for(instructor):
    done = instructor.send("/teaching/items/study", seen="/teaching/items")

    assert done.status_code == 302
    assert "being studied" in instructor.get("/teaching/items").text


def laid_out(instructor, house, ivo, room):
    """Lay out a test of every choice item of the bank; return its address."""
    assignment = drafting.draft(house, ivo, TERMS, Audience(room), now=START)
    for one in choices.choices(house, ivo).bank_items:
        questions.add_bank_item(house, ivo, assignment, item_ref=one.ref)
    fields = {"assignment": str(assignment), "variants": "1"}
    return instructor.send("/teaching/paper", fields, seen="/teaching/paper").headers["Location"]


def sheet_photograph(instructor, house, address, *, leave_out=0):
    """Return a photograph of the one sheet, filled in right; a question may stay empty."""
    pdf = instructor.get(f"{address}/answer-sheets.pdf").data
    with house.read() as connection:
        items = items_shown(connection, int(address.rpartition("/")[2]), 1)
    marks = {
        stored.number: "".join(
            letter for letter, one in zip(LETTERS, item.options, strict=False) if one.correct
        )
        for stored, item in items
        if stored.number != leave_out
    }
    assert {item.kind for _, item in items} <= {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES}
    chance = np.random.default_rng(4)
    return photographed(filled(printed(pdf), options_of(items), marks, chance), chance)


def send_pictures(instructor, *pictures):
    token = instructor.form_token("/teaching/paper")
    files = [
        FileStorage(io.BytesIO(content), f"photo-{n}.jpg") for n, content in enumerate(pictures)
    ]
    # Encoded here: the client would leave a large body behind as an open file.
    boundary, body = encode_multipart(MultiDict([("csrf_token", token), *_each(files)]))
    kind = f"multipart/form-data; boundary={boundary}"
    return instructor.post("/teaching/paper/read", data=body, content_type=kind)


def _each(files):
    return [("pictures", one) for one in files]


def test_a_test_goes_to_paper_and_back_into_the_record(instructor, house, ivo, room):
    address = laid_out(instructor, house, ivo, room)
    photo = sheet_photograph(instructor, house, address, leave_out=1)

    sent = send_pictures(instructor, photo, b"no picture")
    told = instructor.get(sent.headers["Location"]).text
    sheet = instructor.get(f"{address}/sheets/1").text
    row = instructor.get(f"{address}/sheets/1/rows/1.png")
    decided = instructor.send(f"{address}/sheets/1", {"q1": "A"}, seen=f"{address}/sheets/1")
    instructor.send(f"{address}/count", seen=address)

    assert "1 of 2 pictures read" in told
    assert "no picture that can be read" in told
    assert "Question 1: No box is filled." in sheet
    assert row.data.startswith(b"\x89PNG")
    assert decided.status_code == 302
    assert "1 counted, 0 read and ready" in instructor.get(address).text


def test_a_document_that_is_none_is_not_found(instructor, house, ivo, room):
    address = laid_out(instructor, house, ivo, room)

    assert instructor.get(f"{address}/poster.pdf").status_code == 404
    assert instructor.get(f"{address}/key.pdf").mimetype == "application/pdf"


@pytest.mark.parametrize(
    "address",
    ["/teaching/", "/teaching/classes/1", "/teaching/items", "/teaching/paper",
     "/teaching/lessons/first-pin-counted", "/teaching/lessons/first-pin-counted.pdf",
     "/teaching/items/piston-drop", "/teaching/tests/1", "/teaching/paper/1",
     "/teaching/paper/1/key.pdf", "/teaching/paper/1/sheets/1"],
)  # fmt: skip
def test_learners_see_no_page_of_teaching(lea, address):
    assert lea.get(address).status_code in {403, 404}


def test_large_requests_are_taken_only_where_pictures_are_sent(instructor):
    large = b"x" * 1_500_000
    token = instructor.form_token("/teaching/paper")

    to_pictures = send_pictures(instructor, large)
    elsewhere = instructor.post("/teaching/paper", data={"csrf_token": token, "variants": large})

    assert to_pictures.status_code == 302
    assert elsewhere.status_code == 413
