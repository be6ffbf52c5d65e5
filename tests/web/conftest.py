"""A house in an empty database, the application around it, and a browser-less client."""

from __future__ import annotations

import pytest
from furnished import Clock, copy_house, drop_house, furnished_house, reopened_house
from sending_client import Browser

from quizsvc.store import classes
from quizsvc.store.classes import Part
from quizsvc.store.people import find_for_sign_in
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


@pytest.fixture
def room(house, clock) -> int:
    """A class: Ivo leads it, Lea and Tom learn in it. Return its key."""
    with house.write() as connection:
        keys = {
            name: find_for_sign_in(connection, name).person_id for name in ("lea", "tom", "ivo")
        }
        class_id = classes.add_class(connection, 1, "Evening", now=clock())
        for name, key in keys.items():
            part = Part.INSTRUCTOR if name == "ivo" else Part.LEARNER
            classes.add_member(connection, class_id, key, part, now=clock())
    return class_id
