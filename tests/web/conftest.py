"""A house in an empty database, the application around it, and a browser-less client."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient
from furnished import PASSWORD, Clock, copy_house, drop_house, furnished_house, reopened_house

from quizsvc.web.app import create_app


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(scope="session")
def furnished(tmp_path_factory):
    """The folder of a furnished house, closed; tests work on copies."""
    folder = tmp_path_factory.mktemp("furnished")
    furnished_house(folder).close()
    return folder


@pytest.fixture
def house(tmp_path, furnished):
    copy_house(furnished, tmp_path)
    opened = reopened_house(tmp_path)
    yield opened
    opened.close()
    drop_house(tmp_path)


class Browser(FlaskClient):
    """A client that sends forms with the token of a page seen before."""

    def form_token(self, address: str = "/sign-in") -> str:
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', self.get(address).text)
        assert found, f"{address} holds no form token"
        return found[1]

    def sign_in(self, name: str = "lea", password: str = PASSWORD):
        return self.send("/sign-in", {"name": name, "password": password}, seen="/sign-in")

    def put_next(self, **wish: str) -> str:
        """Ask for an item and return its address."""
        return self.send("/practise/next", wish, seen="/practise/").headers["Location"]

    def put_written(self, words: str) -> str:
        """Ask until the test bank's item with these words in its question comes."""
        for topic in ("safety", "procedure") * 20:
            address = self.put_next(topic=topic)
            if words in self.get(address).text:
                return address
        raise AssertionError(f"no item says {words!r}")

    def position_of(self, address: str, words: str) -> str:
        """Return the position at which the page shows these words as a choice."""
        page = self.get(address).text
        rows = re.findall(
            r'value="(\d+)"[^>]*>\s*<span class="datum".*?text">(.*?)</span>', page, re.DOTALL
        )
        return {text: number for number, text in rows}[words]

    def answer(self, address: str, fields: dict[str, object]):
        return self.send(address, fields, seen=address)

    def send(self, address: str, fields: dict[str, object] | None = None, *, seen: str):
        data = {"csrf_token": self.form_token(seen), **(fields or {})}
        return self.post(address, data=data)


@pytest.fixture
def app(house, clock):
    made = create_app(house, clock=clock)
    made.test_client_class = Browser
    return made


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.fixture
def lea(client):
    """A learner's client, signed in."""
    assert client.sign_in("lea").status_code == 302
    return client


@pytest.fixture
def person(app):
    """Return a way to sign somebody in with a client of their own."""

    def signed_in(name: str):
        client = app.test_client()
        assert client.sign_in(name).status_code == 302
        return client

    return signed_in
