"""Errors become pages in plain words, in one place."""

import logging
import time

import pytest
from flask import abort

from quizsvc.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnavailableError,
)
from quizsvc.web.limits import limiter

OURS = [
    (InputError, 422, "That cannot be right"),
    (NotFoundError, 404, "Not found"),
    (NotAllowedError, 403, "Not allowed"),
    (ConflictError, 409, "Not any more"),
    (UnavailableError, 503, "Not just now"),
]


def raising(app, error):
    def view():
        raise error

    app.add_url_rule("/raise", view_func=view)
    return app.test_client().get("/raise")


@pytest.mark.parametrize(("kind", "status", "title"), OURS)
def test_an_error_of_ours_names_field_value_and_remedy(app, kind, status, title):
    error = kind(
        "the rod is too short.", field="rod_mm", value="<b>4</b>", remedy="Give 20 or more."
    )

    answer = raising(app, error)

    assert answer.status_code == status
    assert f"<h1>{title}</h1>" in answer.text
    for words in ("The rod is too short.", "rod_mm", "&lt;b&gt;4&lt;/b&gt;", "Give 20 or more."):
        assert words in answer.text
    assert "<b>4" not in answer.text
    assert "Traceback" not in answer.text


@pytest.mark.parametrize("status", [400, 404, 405, 413, 418, 429, 500, 503])
def test_every_status_has_a_page_that_says_what_to_do(app, status):
    app.add_url_rule("/stop", view_func=lambda: abort(status))

    answer = app.test_client().get("/stop")

    assert answer.status_code == status
    assert "<h1>" in answer.text
    assert f"Error {status}" in answer.text


def test_a_fault_of_ours_is_logged_and_shown_without_a_traceback(app, caplog):
    caplog.set_level(logging.ERROR)

    answer = raising(app, RuntimeError("the innermost secret"))

    assert answer.status_code == 500
    assert "Our fault" in answer.text
    assert "innermost secret" not in answer.text
    assert "innermost secret" in caplog.text


def test_the_page_of_a_failing_database_does_not_ask_the_database(client, monkeypatch):
    def fail(*_args, **_kwargs):
        raise UnavailableError("the database does not answer.", remedy="Try again in a minute.")

    monkeypatch.setattr("quizsvc.services.accounts.actor_for_token", fail)
    client.set_cookie("place", "any")

    answer = client.get("/practise/")

    assert answer.status_code == 503
    assert "The database does not answer." in answer.text


def test_a_form_without_its_token_changes_nothing_and_says_why(client):
    for address in ("/sign-in", "/sign-out", "/practise/next", "/practise/items/x"):
        answer = client.post(address)

        assert answer.status_code == 400
        assert "This form is out of date" in answer.text


def test_a_form_with_the_token_of_another_browser_is_refused(app):
    token = app.test_client().form_token()

    answer = app.test_client().post("/sign-in", data={"csrf_token": token, "name": "a"})

    assert answer.status_code == 400


def test_too_large_a_request_is_refused(client):
    token = client.form_token()

    answer = client.post("/sign-in", data={"csrf_token": token, "name": "x" * 2_000_000})

    assert answer.status_code == 413
    assert "Too large" in answer.text


def test_a_wrong_method_is_told_so(client):
    answer = client.get("/sign-out")

    assert answer.status_code == 405
    assert "Not this way" in answer.text


def test_more_sign_ins_than_a_class_can_make_are_slowed_down(client, monkeypatch):
    moment = time.time()
    monkeypatch.setattr(time, "time", lambda: moment)  # all within one minute, however slow
    limiter.reset()  # whoever signed in before this test
    token = client.form_token()

    answers = [client.post("/sign-in", data={"csrf_token": token}) for _ in range(601)]

    assert {answer.status_code for answer in answers[:600]} == {422}
    assert answers[600].status_code == 429
    assert "Wait a minute" in answers[600].text
