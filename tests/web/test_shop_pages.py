"""The shop's pages: who sees them, what they say, and what comes as a file."""

import io
import json
from html import unescape
from zipfile import ZipFile

import pytest
from furnished import START
from openpyxl import load_workbook
from sqlalchemy import text

from quizsvc.rules.permissions import May
from quizsvc.services.people import make_shop

FORM = {"title": "Replace a primary chain", "topic": ["marks"], "cut-marks": "60"}
MANAGERS_PAGES = ("/shop/", "/shop/cover", "/shop/trend", "/shop/changes", "/shop/matrix.csv")


@pytest.fixture
def mia(client):
    client.sign_in("mia")
    return client


@pytest.fixture
def with_job(mia):
    assert mia.send("/shop/jobs/new", FORM, seen="/shop/jobs/new").status_code == 302
    return mia


def test_a_shop_without_jobs_says_what_to_do_first(mia):
    page = mia.get("/shop/").text

    assert "No job yet" in page
    assert "/shop/jobs/new" in page


def test_a_manager_adds_a_job_and_sees_who_is_nearly_ready_and_why(with_job):
    page = with_job.get("/shop/").text

    assert "Replace a primary chain" in page
    assert "Timing marks: more answers" in page
    assert "Lea Invented" in page
    person = with_job.get("/shop/people/1").text
    assert "0 answers so far, 10 are needed" in person


def test_a_job_that_asks_nothing_is_refused_and_keeps_what_was_typed(mia):
    answer = mia.send("/shop/jobs/new", {"title": "Odd job"}, seen="/shop/jobs/new")

    assert answer.status_code == 422
    assert "has to ask something" in answer.text
    assert 'value="Odd job"' in answer.text


def test_a_job_is_changed_and_taken_off_the_list(with_job):
    page = with_job.get("/shop/jobs/1").text
    assert 'name="cut-marks" inputmode="numeric" value="60"' in page

    changed = FORM | {"title": "Replace a chain"}
    with_job.send("/shop/jobs/1", changed, seen="/shop/jobs/1")
    assert "Replace a chain" in with_job.get("/shop/jobs").text

    with_job.send("/shop/jobs/1/end", {}, seen="/shop/jobs/1")
    assert "Replace a chain" not in with_job.get("/shop/jobs").text


@pytest.mark.parametrize("address", MANAGERS_PAGES)
def test_a_learner_is_refused_the_team(lea, address):
    assert lea.get(address).status_code == 403


def test_a_learner_sees_their_record_and_no_other(lea):
    assert "My record" in lea.get("/shop/record").text
    assert lea.get("/shop/people/2").status_code == 403


def test_a_person_of_another_shop_is_not_found(with_job, house):
    with house.write() as connection:
        other = make_shop(connection, "Another Invented Garage", now=START)
        connection.execute(
            text("UPDATE membership SET shop_id = :o WHERE person_id = 2"), {"o": other}
        )

    assert with_job.get("/shop/people/2").status_code == 404
    assert "Tom Invented" not in with_job.get("/shop/").text


def test_the_files_hold_the_matrix(with_job):
    answer = with_job.get("/shop/matrix.xlsx")
    book = load_workbook(io.BytesIO(answer.data))
    written = with_job.get("/shop/matrix.csv?words=tom").text

    assert "attachment" in answer.headers["Content-Disposition"]
    assert book.sheetnames == ["Readiness", "People per job"]
    assert "Tom Invented" in written
    assert "Lea Invented" not in written


@pytest.mark.parametrize(
    ("query", "said"),
    [("on=tomorrow", "no date"), ("on=2001-01-01", "is past"), ("state=great", "no such state"),
     ("job=999", "no such job"), ("page=x", "whole number")],
)  # fmt: skip
def test_what_cannot_be_asked_is_said_clearly(with_job, query, said):
    answer = with_job.get(f"/shop/?{query}")

    assert answer.status_code in {404, 422}
    assert said in answer.text


def test_names_and_titles_are_shown_as_words_only(with_job, house):
    with house.write() as connection:
        connection.execute(text("UPDATE person SET name = '<b>Lea' WHERE id = 1"))
    with_job.send("/shop/people/2/shift", {"shift": "<i>early"}, seen="/shop/people/2")

    page = with_job.get("/shop/").text
    assert "&lt;b&gt;Lea" in page
    assert "&lt;i&gt;early" in page
    assert "<b>Lea" not in page
    assert "<i>early" not in page


def test_reading_a_sheet_is_noted_once_it_is_said(lea):
    address = "/shop/sheets/demo-inline-four"
    assert "I have read revision 1" in lea.get(address).text

    lea.send(address, {"revision": "1"}, seen=address)

    assert "You said that you read this revision" in lea.get(address).text


def test_the_page_of_privacy_is_written_from_the_policy(lea):
    page = unescape(lea.get("/shop/privacy").text)

    for deed in May:
        assert deed.value[1:] in page


def test_everybody_may_download_all_that_is_kept_about_them(lea):
    answer = lea.send("/shop/people/1/export", {}, seen="/shop/record")

    with ZipFile(io.BytesIO(answer.data)) as archive:
        data = json.loads(archive.read("person.json"))
    assert data["tables"]["person"][0]["name"] == "Lea Invented"
    assert "password" not in json.dumps(data).replace("password changed", "")
    assert lea.send("/shop/people/2/export", {}, seen="/shop/record").status_code == 403


def test_only_an_administrator_erases(mia):
    assert (
        mia.send("/shop/people/1/erase", {"name": "Lea Invented"}, seen="/shop/record").status_code
        == 403
    )
