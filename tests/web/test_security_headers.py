"""Headers of every answer: what may be loaded, framed, guessed at and kept."""

import re
from base64 import urlsafe_b64decode
from dataclasses import replace

import pytest
from flask import request
from furnished import PASSWORD

from quizsvc.web.app import create_app, trusted_hosts


@pytest.mark.parametrize("address", ["/sign-in", "/", "/nowhere", "/static/css/tokens.css"])
def test_every_answer_carries_a_policy_without_inline_script_or_style(client, address):
    with client.get(address) as answer:
        headers = answer.headers

    stated = headers["Content-Security-Policy"]
    policy = dict(part.strip().split(" ", 1) for part in stated.split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["object-src"] == "'none'"
    assert "unsafe" not in stated
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize("address", ["/sign-in", "/", "/nowhere"])
def test_pages_are_kept_in_no_cache(client, address):
    headers = client.get(address).headers

    assert headers["Cache-Control"] == "no-store"
    assert "ETag" not in headers
    assert "Last-Modified" not in headers


def test_static_files_may_be_kept_since_their_address_changes_with_them(client):
    page = client.get("/sign-in").text
    address = re.search(r'href="(/static/css/tokens\.css\?v=[0-9a-f]{12})"', page)[1]

    with client.get(address) as answer:
        assert answer.status_code == 200
        assert "no-store" not in answer.headers["Cache-Control"]
        assert "max-age=31536000" in answer.headers["Cache-Control"]


def test_over_https_cookies_are_bound_to_the_host_and_browsers_told_to_stay(house):
    house.settings = replace(house.settings, public_url="https://quiz.example.org")
    client = create_app(house).test_client()

    answer = client.get("/sign-in", base_url="https://quiz.example.org")

    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith("__Host-")
    assert "Secure" in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Domain" not in cookie
    stated = answer.headers["Strict-Transport-Security"]
    assert stated == "max-age=31536000; includeSubDomains"


def test_what_is_no_page_runs_nothing_when_it_is_opened_by_itself(client):
    sandboxed = {
        address: "sandbox" in client.get(address).headers["Content-Security-Policy"]
        for address in ("/health", "/sign-in")
    }

    assert sandboxed == {"/health": True, "/sign-in": False}


@pytest.mark.parametrize(
    ("address", "kind"),
    [
        ("/static/css/tokens.css", "text/css; charset=utf-8"),
        ("/static/js/clock.js", "text/javascript; charset=utf-8"),
        ("/static/mark.svg", "image/svg+xml; charset=utf-8"),
        ("/sign-in", "text/html; charset=utf-8"),
        ("/health", "text/plain; charset=utf-8"),
    ],
)
def test_every_text_says_in_what_characters_it_is_written(client, address, kind):
    with client.get(address) as answer:
        assert answer.headers["Content-Type"] == kind


@pytest.mark.parametrize(
    ("address", "allowed"),
    [
        ("/issuers/1", "*"),
        ("/verify", None),
        ("/sign-in", None),
        ("/practise/", None),
    ],
)
def test_only_what_is_published_may_be_read_by_pages_elsewhere(client, address, allowed):
    client.sign_in()

    answer = client.get(address, headers={"Origin": "https://elsewhere.example"})

    assert answer.status_code == 200
    assert answer.headers.get("Access-Control-Allow-Origin") == allowed
    assert "Access-Control-Allow-Credentials" not in answer.headers


@pytest.mark.parametrize("address", ["/", "/sign-in", "/static/css/tokens.css"])
def test_nothing_is_traced(client, address):
    answer = client.open(address, method="TRACE", headers={"X-Told": "an invented secret"})

    assert answer.status_code == 405
    assert "an invented secret" not in answer.text


@pytest.mark.parametrize(
    "address",
    ["/static/", "/static/css/", "/static/../app.py", "/static/%2e%2e/app.py", "/.git/config"],
)
def test_no_folder_is_listed_and_nothing_beside_the_static_files_is_served(client, address):
    assert client.get(address).status_code == 404


def test_cookies_and_form_tokens_are_signed_with_sha_256(app):
    client = app.test_client()
    token = client.form_token()

    signatures = [one.rpartition(".")[2] for one in (token, client.get_cookie("form").value)]

    assert [len(urlsafe_b64decode(one + "=")) for one in signatures] == [32, 32]


def test_a_field_in_the_address_or_given_twice_takes_the_place_of_none(client):
    sent = {"csrf_token": client.form_token(), "name": ["lea", "mia"], "password": PASSWORD}
    client.post("/sign-in?name=ivo&password=guess", data=sent)

    assert "Lea Invented" in client.get("/practise/").text


def test_what_a_visitor_says_of_proxies_counts_only_behind_one(house):
    given = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Host": "elsewhere.example"}

    def address_seen(proxies, **more):
        house.settings = replace(house.settings, trusted_proxies=proxies)
        app = create_app(house)
        with app.test_client() as client:
            client.get("/health", headers=given | more)
            return request.remote_addr

    assert address_seen(0) == "127.0.0.1"
    assert address_seen(1, **{"X-Forwarded-Host": "localhost"}) == "203.0.113.9"
    two = {"X-Forwarded-For": "198.51.100.1, 203.0.113.9", "X-Forwarded-Host": "localhost"}
    assert address_seen(1, **two) == "203.0.113.9"


def test_another_host_name_is_refused_in_plain_words(client):
    answer = client.get("/sign-in", base_url="http://elsewhere.example")

    assert answer.status_code == 400
    assert "QUIZSVC_PUBLIC_URL" in answer.text
    assert answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("address", "hosts"),
    [
        ("https://quiz.example.org", ["quiz.example.org"]),
        ("http://127.0.0.1:8484", ["127.0.0.1", "localhost", "[::1]"]),
        ("http://[::1]:8484", ["127.0.0.1", "localhost", "[::1]"]),
        ("http://[2001:db8::1]:80", ["[2001:db8::1]"]),
    ],
)
def test_only_the_public_host_is_answered_to(house, address, hosts):
    assert trusted_hosts(replace(house.settings, public_url=address)) == hosts


@pytest.mark.parametrize(
    ("referring", "status"),
    [
        ("https://quiz.example.org/sign-in", 302),
        ("https://elsewhere.example/", 400),
        (None, 400),
    ],
)
def test_over_https_a_form_must_come_from_a_page_of_ours(house, referring, status):
    house.settings = replace(house.settings, public_url="https://quiz.example.org")
    client = create_app(house).test_client()
    base = "https://quiz.example.org"
    page = client.get("/sign-in", base_url=base).text
    token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)[1]

    answer = client.post(
        "/sign-in",
        base_url=base,
        headers={"Referer": referring} if referring else {},
        data={"csrf_token": token, "name": "lea", "password": PASSWORD},
    )

    assert answer.status_code == status
    cookies = answer.headers.getlist("Set-Cookie")
    assert any(c.startswith("__Host-place=") and "Secure" in c for c in cookies) == (status == 302)
