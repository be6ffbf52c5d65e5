"""The pages by which an instructor takes a bank to QTI or CSV and brings one in."""

import io

import pytest
from interchange.qti_packages import CHOICE_BODY, foreign_item, foreign_package

from quizsvc.interchange.qti.package import import_package


@pytest.fixture
def ivo(client):
    """An instructor's client, signed in."""
    assert client.sign_in("ivo").status_code == 302
    return client


def test_a_bank_is_linked_and_sent_as_a_package_and_as_a_table(ivo):
    page = ivo.get("/bank/banks").text

    assert "/bank/banks/every-kind.zip" in page
    package = ivo.get("/bank/banks/every-kind.zip")
    assert package.headers["Content-Disposition"] == "attachment; filename=every-kind.zip"
    assert import_package(package.data).items_kept >= 6
    table = ivo.get("/bank/banks/every-kind.csv")
    assert table.content_type == "text/csv; charset=utf-8"
    assert table.data.startswith(b"\xef\xbb\xbfid,version,")
    assert ivo.get("/bank/banks/every-kind.exe").status_code == 404
    assert ivo.get("/bank/banks/none.zip").status_code == 404


def test_a_foreign_package_is_reported_item_by_item_before_anything_is_written(ivo):
    essay = '<qti-extended-text-interaction response-identifier="RESPONSE"/>'
    package = foreign_package(foreign_item(CHOICE_BODY), foreign_item(essay, identifier="essay-1"))
    token = ivo.form_token("/bank/import")

    sent = {"csrf_token": token, "bank": (io.BytesIO(package), "theirs.zip")}
    answer = ivo.post("/bank/import", data=sent, content_type="multipart/form-data")
    page = ivo.get(answer.headers["Location"]).text

    assert "essay-1" in page
    assert "extended-text" in page
    assert "Write 1 item as drafts" in page


def test_what_is_no_package_is_refused_on_the_page(ivo):
    token = ivo.form_token("/bank/import")

    sent = {"csrf_token": token, "bank": (io.BytesIO(b"none"), "x.zip")}
    answer = ivo.post("/bank/import", data=sent, content_type="multipart/form-data")

    assert answer.status_code == 422
    assert "zip archive" in answer.text


def test_a_learner_gets_no_bank_in_any_form(lea):
    assert lea.get("/bank/banks/every-kind.zip").status_code in {403, 404}
    assert lea.get("/bank/banks/every-kind.csv").status_code in {403, 404}
