"""Certification through its pages, without a browser."""

from __future__ import annotations

import pytest

STAFF_PAGES = (
    "/certificates/schemes",
    "/certificates/schemes/new",
    "/certificates/candidates",
    "/certificates/sign-offs",
    "/certificates/issued",
)


@pytest.mark.parametrize("address", STAFF_PAGES)
def test_staff_see_the_pages_and_learners_are_told_who_may(client, address):
    client.sign_in("ivo")
    assert client.get(address).status_code == 200

    client.send("/sign-out", seen="/practise/")
    client.sign_in("lea")
    assert client.get(address).status_code == 403


def test_a_learner_without_certificates_reads_how_one_comes_about(lea):
    page = lea.get("/certificates/")

    assert page.status_code == 200
    assert "No certificate yet" in page.text


def test_anybody_may_ask_whether_a_certificate_stands(client):
    assert client.get("/verify").status_code == 200
    missing = client.get(f"/verify/{'0' * 32}")

    assert missing.status_code == 404
    assert "no certificate of this number" in missing.text


def test_what_is_no_credential_is_refused_with_what_to_do(client):
    page = client.send("/verify", {"text": "not a credential"}, seen="/verify")

    assert page.status_code == 422
    assert "no signed token" in page.text


def test_a_scheme_is_made_in_the_browser_and_shows_what_is_missing(client):
    client.sign_in("ivo")
    fields = {
        "title": "Timing (invented)",
        "scope": "Times engines.",
        "minutes": "30",
        "tries": "3",
        "wait_days": "14",
        "valid_months": "24",
        "renew_from_days": "90",
        "expected_tolerance": "1,5",
        "information_percent": "50",
        "most_exposed": "50",
        "pilots": "0",
        "independent": "1",
        "cell-safety-diagnose": "40",
        "task-1-title": "Chain",
        "task-1-steps": "! Battery off\nClean place",
    }

    made = client.send("/certificates/schemes/new", fields, seen="/certificates/schemes/new")

    assert made.status_code == 302, made.text
    page = client.get(made.headers["Location"]).text
    assert "missing" in page
    assert "(critical)" in page
    terms = client.get(made.headers["Location"] + "/terms").text
    assert "! Battery off" not in terms
    assert "!Battery off" in terms


def test_terms_that_cannot_be_say_which_field(client):
    client.sign_in("ivo")

    page = client.send(
        "/certificates/schemes/new", {"title": "X"}, seen="/certificates/schemes/new"
    )

    assert page.status_code == 422
    assert "minutes" in page.text or "tolerance" in page.text
