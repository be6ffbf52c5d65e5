"""The machine's clock is set while a form lies open; the form can still be sent."""

from __future__ import annotations

import pytest
from itsdangerous.timed import TimestampSigner

HOUR = 3600


@pytest.mark.parametrize("hours", [-2, -1, 1, 24 * 40])
def test_a_form_is_good_whatever_the_clock_was_set_to(lea, monkeypatch, hours):
    token = lea.form_token("/practise/")
    usual = TimestampSigner.get_timestamp
    monkeypatch.setattr(
        TimestampSigner, "get_timestamp", lambda signer: usual(signer) + hours * HOUR
    )

    sent = lea.post("/practise/next", data={"csrf_token": token})

    assert sent.status_code == 302


def test_a_form_whose_cookie_was_changed_is_refused(lea):
    token = lea.form_token("/practise/")
    cookie = lea.get_cookie("form").value
    lea.set_cookie("form", cookie[:-2] + ("AA" if cookie[-2:] != "AA" else "BB"))

    assert lea.post("/practise/next", data={"csrf_token": token}).status_code == 400
