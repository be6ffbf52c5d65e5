"""Signing in and out in the browser's terms: cookies, redirects, words."""

import pytest
from furnished import PASSWORD


def cookie(client):
    return client.get_cookie("place")


def test_without_signing_in_every_page_leads_to_the_sign_in_page_and_back(client):
    answer = client.get("/practise/history?topic=marks")

    assert answer.status_code == 302
    assert answer.headers["Location"] == "/sign-in?next=/practise/history?topic%3Dmarks"
    back = client.send(
        answer.headers["Location"], {"name": "lea", "password": PASSWORD}, seen="/sign-in"
    )
    assert back.headers["Location"] == "/practise/history?topic=marks"


def test_the_session_token_lies_in_a_cookie_no_script_can_read(client):
    answer = client.sign_in()

    (stated,) = [c for c in answer.headers.getlist("Set-Cookie") if c.startswith("place=")]
    assert "HttpOnly" in stated
    assert "SameSite=Lax" in stated
    assert "Domain" not in stated
    assert "Max-Age" not in stated


def test_signing_in_again_gives_another_token(client):
    client.sign_in()
    first = cookie(client).value
    client.sign_in()

    assert cookie(client).value != first


def test_a_wrong_password_is_told_without_saying_which_and_keeps_the_name(client):
    wrong = client.sign_in("lea", "guess")
    unknown = client.sign_in("nobody", "guess")

    for answer in (wrong, unknown):
        assert answer.status_code == 422
        assert "Name and password do not go together." in answer.text
        assert "guess" not in answer.text
    assert 'value="lea"' in wrong.text
    assert cookie(client) is None


def test_empty_fields_are_named(client):
    answer = client.sign_in("", "")

    assert answer.status_code == 422
    assert "Type your sign-in name." in answer.text
    assert "Type your password." in answer.text
    assert 'aria-invalid="true"' in answer.text


def test_signing_out_revokes_the_token_on_the_server(client):
    client.sign_in()
    token = cookie(client).value
    client.send("/sign-out", seen="/practise/")
    client.set_cookie("place", token)

    answer = client.get("/practise/")

    assert answer.headers["Location"].startswith("/sign-in")


def test_a_session_ends_after_its_hours(client, clock, house):
    client.sign_in()
    clock.pass_time(hours=house.settings.session_hours, minutes=1)

    assert client.get("/practise/").status_code == 302


def test_an_invented_token_is_nobody(client):
    client.set_cookie("place", "x" * 43)

    assert client.get("/practise/").headers["Location"].startswith("/sign-in")


@pytest.mark.parametrize(
    "target",
    [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "/\\elsewhere.example",
        "javascript:1",
        "",
    ],
)
def test_after_signing_in_nobody_is_led_elsewhere(client, target):
    answer = client.post(
        "/sign-in",
        query_string={"next": target},
        data={"csrf_token": client.form_token(), "name": "lea", "password": PASSWORD},
    )

    assert answer.headers["Location"] == "/"


def test_guessing_is_braked_and_says_when_to_try_again(client):
    answers = [client.sign_in("lea", "guess") for _ in range(30)]

    assert answers[0].status_code == 422
    assert answers[-1].status_code == 429
    assert "Try again in" in answers[-1].text


@pytest.mark.parametrize("name", ["lea", "ivo", "mia"])
def test_every_role_begins_at_practice(client, name):
    client.sign_in(name)

    assert client.get("/").headers["Location"] == "/practise/"
    page = client.get("/practise/").text
    assert f"{name.title()} Invented" in page
    assert "What helps most now" in page
