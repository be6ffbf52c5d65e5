"""One's own password and sessions, on pages; and signing others out."""

import re

import pytest
from furnished import PASSWORD

NEW = "seven hens behind a fence"


def cookie(client):
    return client.get_cookie("place").value


def with_token(app, token):
    client = app.test_client()
    client.set_cookie("place", token)
    return client


def is_in(app, token) -> bool:
    return with_token(app, token).get("/practise/").status_code == 200


def change(client, present=PASSWORD, wanted=NEW):
    fields = {"present": present, "wanted": wanted}
    return client.send("/account/password", fields, seen="/account/password")


def test_changing_the_password_gives_another_token_and_ends_the_rest(app, client):
    client.sign_in()
    before, elsewhere = cookie(client), app.test_client()
    elsewhere.sign_in()

    answer = change(client)

    assert answer.headers["Location"] == "/account"
    assert cookie(client) != before
    assert client.get("/practise/").status_code == 200
    assert not is_in(app, before)
    assert not is_in(app, cookie(elsewhere))


@pytest.mark.parametrize(
    ("present", "wanted", "words"),
    [
        ("a guess of mine", NEW, "This is not your present password."),
        (PASSWORD, "qwertyuiop", "found in leaks"),
        (PASSWORD, "short", "from 10 to 200 characters"),
    ],
)
def test_what_is_refused_is_said_and_nothing_typed_comes_back(client, present, wanted, words):
    client.sign_in()

    answer = change(client, present, wanted)

    assert answer.status_code == 422
    assert words in answer.text
    assert f'value="{wanted}"' not in answer.text
    assert f'value="{present}"' not in answer.text
    assert client.sign_in().status_code == 302


def test_password_fields_are_masked_and_open_to_password_managers(client):
    client.sign_in()

    fields = re.findall(r"<input[^>]*type=\"password\"[^>]*>", client.get("/account/password").text)

    assert len(fields) == 2
    assert 'autocomplete="current-password"' in fields[0]
    assert 'autocomplete="new-password"' in fields[1]
    assert not any("onpaste" in one or "maxlength" in one for one in fields)


def test_one_sees_where_one_is_signed_in_and_ends_the_others(app, client, clock):
    elsewhere = app.test_client()
    elsewhere.sign_in()
    clock.pass_time(minutes=7)
    client.sign_in()

    page = client.get("/account/sessions").text
    assert page.count("127.0.0.1") == 2
    (handle,) = re.findall(r'name="which" value="([0-9a-f]{32})"', page)

    fields = {"which": handle, "present": "a guess of mine"}
    refused = client.send("/account/sessions/end", fields, seen="/account/sessions")
    assert refused.status_code == 422
    assert is_in(app, cookie(elsewhere))

    fields["present"] = PASSWORD
    client.send("/account/sessions/end", fields, seen="/account/sessions")
    assert not is_in(app, cookie(elsewhere))
    assert is_in(app, cookie(client))
    assert "Only here." in client.get("/account/sessions").text


def test_signing_in_anew_ends_the_session_this_browser_had(app, client):
    client.sign_in()
    before = cookie(client)
    client.sign_in()

    assert not is_in(app, before)
    assert is_in(app, cookie(client))


def test_every_page_of_somebody_signed_in_shows_the_way_out(client):
    client.sign_in()

    for address in ("/practise/", "/practise/history", "/account", "/account/sessions", "/bench/"):
        assert 'action="/sign-out"' in client.get(address).text, address


def test_signing_out_asks_the_browser_to_keep_nothing(client):
    client.sign_in()

    answer = client.send("/sign-out", seen="/practise/")

    assert answer.headers["Clear-Site-Data"] == '"storage"'
    assert client.get_cookie("place") is None


def test_a_manager_signs_somebody_out_everywhere(app, client):
    learner = app.test_client()
    learner.sign_in("lea")
    client.sign_in("mia")
    person = re.search(r'href="(/people/\d+)">Lea Invented', client.get("/people/").text)[1]

    client.send(f"{person}/sign-out", seen=person)

    assert not is_in(app, cookie(learner))
