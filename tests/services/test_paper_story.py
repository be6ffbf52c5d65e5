"""A test on paper: printed for a class, filled in, photographed, decided, counted once."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest
from classroom import BLANK, give_out, stored_count
from paper.printed_sheets import filled, photographed, printed
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.services.on_paper import (
    counting,
    documents,
    doubtful_marks,
    printed_pages,
    printing,
    sheet_marks,
    sheet_pictures,
)
from quizsvc.services.on_paper.documents import Document
from quizsvc.services.on_paper.printed_items import items_shown, options_of
from quizsvc.store.printed_tests import SheetState


@pytest.fixture
def paper(room):
    assignment = give_out(room, BLANK["home"])
    return printing.print_test(room.house, room.ida, assignment, variants=2, now=NOON)


@pytest.fixture
def items(room, paper):
    with room.house.read() as connection:
        return {variant: items_shown(connection, paper, variant) for variant in (1, 2)}


def key_of(items):
    return {
        stored.number: "".join(
            letter for letter, one in zip(LETTERS, item.options, strict=False) if one.correct
        )
        for stored, item in items
    }


def photograph(room, paper, items, marks, page=0, seed=1):
    """Return a photograph of a copy filled in so; page 0 is the first of variant A."""
    pdf = documents.document(room.house, room.ida, paper, Document.ANSWERS)
    chance = np.random.default_rng(seed)
    sheet = filled(printed(pdf, page), options_of(items[page + 1]), marks, chance)
    return photographed(sheet, chance)


def read(room, *pictures):
    named = [(f"photo {n}.jpg", content) for n, content in enumerate(pictures)]
    return sheet_pictures.read_pictures(room.house, room.ida, named, now=NOON)


def test_only_what_can_be_answered_by_a_box_is_printed(room, paper, items):
    shown = printed_pages.view(room.house, room.ida, paper)

    assert shown.questions == 2  # of five: one choice and several choices
    assert [copy.variant for copy in shown.copies] == [1, 2]
    assert {item.kind.value for _, item in items[1]} == {"one choice", "several choices"}


@pytest.mark.parametrize("what", list(Document))
def test_each_document_is_a_pdf_with_its_words(room, paper, what):
    pdf = documents.document(room.house, room.ida, paper, what)

    document = pypdfium2.PdfDocument(pdf)
    words = "".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert {"questions": "Ignition off", "answer-sheets": "Ana", "key": "For the instructor"}[
        what.value
    ] in words
    assert ("Radio on" in words) == (what is Document.QUESTIONS)


def test_a_sheet_filled_in_right_counts_in_the_record_once(room, paper, items):
    photo = photograph(room, paper, items, key_of(items[1]))

    (first,) = read(room, photo)
    counted = print_test_count(room, paper)
    (second,) = read(room, photo)
    again = print_test_count(room, paper)

    assert first.well
    assert "clear" in first.says
    assert (counted, again) == (1, 0)
    assert "counts already" in second.says
    assert stored_count(room.house, "response") == 2
    sheet = doubtful_marks.sheet(room.house, room.ida, paper, 1)
    assert (sheet.state, sheet.points, sheet.out_of) == (SheetState.COUNTED, 2, 2)


def print_test_count(room, paper):
    return counting.count_sheets(room.house, room.ida, paper, now=NOON)


def test_the_same_sheet_twice_before_counting_counts_once(room, paper, items):
    one, other = (photograph(room, paper, items, key_of(items[1]), seed=s) for s in (1, 2))

    read(room, one, other)

    assert print_test_count(room, paper) == 1
    assert stored_count(room.house, "response") == 2


def test_a_doubtful_mark_waits_for_a_person_and_then_counts(room, paper, items):
    marks = key_of(items[1])
    single = next(s.number for s, item in items[1] if item.kind.value == "one choice")
    right = marks.pop(single)

    (told,) = read(room, photograph(room, paper, items, marks))
    waiting = print_test_count(room, paper)
    picture = doubtful_marks.row_picture(room.house, room.ida, paper, 1, single)
    state = doubtful_marks.decide(room.house, room.ida, paper, 1, {single: right}, now=NOON)

    assert "1 marks to decide" in told.says
    assert waiting == 0
    assert picture.startswith(b"\x89PNG")
    assert state is SheetState.READ
    assert print_test_count(room, paper) == 1
    assert doubtful_marks.sheet(room.house, room.ida, paper, 1).points == 2


def test_no_answer_decided_says_nothing_of_the_person(room, paper, items):
    read(room, photograph(room, paper, items, {}))
    nothing = {stored.number: sheet_marks.NONE for stored, _ in items[1]}

    doubtful_marks.decide(room.house, room.ida, paper, 1, nothing, now=NOON)

    assert print_test_count(room, paper) == 1
    assert stored_count(room.house, "response") == 0


def test_what_cannot_be_decided_is_refused(room, paper, items):
    read(room, photograph(room, paper, items, {}))
    single = next(s.number for s, item in items[1] if item.kind.value == "one choice")

    for letters in ("Z", "AB", ""):
        with pytest.raises(InputError):
            doubtful_marks.decide(room.house, room.ida, paper, 1, {single: letters}, now=NOON)


def test_nothing_is_decided_once_it_counts(room, paper, items):
    read(room, photograph(room, paper, items, key_of(items[1])))
    print_test_count(room, paper)

    with pytest.raises(ConflictError):
        doubtful_marks.decide(room.house, room.ida, paper, 1, {1: "A"}, now=NOON)


def test_a_picture_of_something_else_is_told_and_stops_no_other(room, paper, items):
    told = read(room, b"no picture", photograph(room, paper, items, key_of(items[1])))

    assert [one.well for one in told] == [False, True]


def test_who_does_not_run_the_test_sees_nothing_of_it(room, workshop, paper, items):
    photo = photograph(room, paper, items, key_of(items[1]))

    with pytest.raises(NotAllowedError):
        printed_pages.view(room.house, room.ana, paper)
    with pytest.raises(NotFoundError):
        printed_pages.view(room.house, workshop.people["iris"], paper)
    (told,) = sheet_pictures.read_pictures(
        room.house, workshop.people["iris"], [("p.jpg", photo)], now=NOON
    )
    assert not told.well


@pytest.mark.parametrize("variants", [0, 9])
def test_a_number_of_variants_that_cannot_be_is_refused(room, variants):
    assignment = give_out(room, BLANK["home"])

    with pytest.raises(InputError, match="variants"):
        printing.print_test(room.house, room.ida, assignment, variants=variants, now=NOON)
