"""Everybody who may come to the door: nobody in particular, and people of two shops by role."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import Rule
from werkzeug.test import TestResponse
from whole_shop import OTHERS, OWN
from workshop import PASSWORD

NOBODY = "-"
PUBLIC = "public"
TABLE = Path(__file__).parents[1] / "web" / "permission_table.toml"
AWAY = "/"  # before the role of somebody of the other shop
Fields = dict[str, object]
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")


def said_by_the_table() -> dict[str, str]:
    """Return who gets in, by route."""
    return tomllib.loads(TABLE.read_text())["who_gets_in"]


@dataclass
class Visitor:
    """Cookies, of somebody signed in or not, and a form token that goes with them."""

    who: str
    client: FlaskClient
    cookies: str
    token: str

    def ask(
        self, method: str, address: str, fields: Fields | None = None, *, accept: str = "*/*"
    ) -> TestResponse:
        """Ask as if nothing had been asked before: cookies the answer sets are forgotten."""
        data = {"csrf_token": self.token, **(fields or {})} if method == "POST" else None
        headers = {"Cookie": self.cookies, "Accept": accept}
        return self.client.open(address, method=method, data=data, headers=headers, buffered=True)

    def send_json(self, address: str, document: object) -> TestResponse:
        """Post JSON with the form token in a header, as a page's script might."""
        headers = {"Cookie": self.cookies, "X-CSRFToken": self.token, "Accept": "application/json"}
        return self.client.post(address, json=document, headers=headers, buffered=True)


def visitors_of(app: Flask) -> dict[str, Visitor]:
    names = {NOBODY: None, **OWN, **{AWAY + role: name for role, name in OTHERS.items()}}
    return {who: _visitor(app, who, name) for who, name in names.items()}


def _visitor(app: Flask, who: str, name: str | None) -> Visitor:
    client = app.test_client()
    token = _token(client, "/sign-in")
    if name is not None:
        fields = {"csrf_token": token, "name": name, "password": PASSWORD}
        answer = client.post("/sign-in", data=fields)
        assert answer.status_code == 302, answer.text
        token = _token(client, "/practise/")
    kept = [client.get_cookie(one) for one in ("form", "place")]
    cookies = "; ".join(f"{one.key}={one.value}" for one in kept if one)
    return Visitor(who, app.test_client(use_cookies=False), cookies, token)


def _token(client: FlaskClient, address: str) -> str:
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', client.get(address).text)
    assert found, f"{address} holds no form token"
    return found[1]


def got_in(answer: TestResponse) -> bool:
    """Return whether somebody got past the door, whatever came of it behind."""
    to_the_door = answer.status_code == 302 and answer.headers["Location"].startswith("/sign-in")
    return not to_the_door and answer.status_code not in {401, 403, 404}


def values_for(rule: Rule, values: dict[str, dict[str, object]]) -> dict[str, object]:
    """Return what fills a route's address: its own values before its place's, before all."""
    place = rule.endpoint.partition(".")[0]
    known = values[""] | values.get(place, {}) | values.get(rule.endpoint, {})
    return {name: known[name] for name in rule.arguments}


def address_of(app: Flask, rule: Rule, values: dict[str, object]) -> str:
    with app.test_request_context():
        built = app.url_map.bind("localhost").build(rule.endpoint, values)
    return quote(built, safe="/%:?=&-._~")
