"""Requests that wait for a password check leave room for everybody else's."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event, Lock

import pytest

from quizsvc.cli.serve import WAITING
from quizsvc.services.passwords import MOST_WAITING
from quizsvc.web.lanes import Lanes, sends_a_password

WORKING = 3
PATIENCE = 30  # seconds until a test gives up; nothing is judged by them


def asked(method: str, path: str) -> dict[str, str]:
    return {"REQUEST_METHOD": method, "PATH_INFO": path}


class Application:
    """Holds sign-ins until let go; counts how many others are inside at the same moment."""

    def __init__(self) -> None:
        self.let_go, self.mutex = Event(), Lock()
        self.inside = self.most_inside = self.signing_in = 0

    def __call__(self, environ, _start):
        if sends_a_password(environ):
            with self.mutex:
                self.signing_in += 1
            assert self.let_go.wait(PATIENCE)
            return [b"signed in"]
        with self.mutex:
            self.inside += 1
            self.most_inside = max(self.most_inside, self.inside)
        Event().wait(0.002)  # long enough for others to come in, were they let
        with self.mutex:
            self.inside -= 1
        return [b"page"]


@pytest.fixture
def application():
    made = Application()
    yield made
    made.let_go.set()


def test_pages_are_answered_while_more_sign_in_than_are_worked_on(application):
    lanes = Lanes(application, WORKING)
    with ThreadPoolExecutor(WORKING * 4 + 1) as threads:
        sign_ins = [
            threads.submit(lanes, asked("POST", "/sign-in"), None) for _ in range(WORKING * 4)
        ]
        while application.signing_in < len(sign_ins):
            Event().wait(0.001)

        page = threads.submit(lanes, asked("GET", "/practise/"), None).result(PATIENCE)

        assert page == [b"page"]
        assert not any(one.done() for one in sign_ins)
        application.let_go.set()
        assert [one.result(PATIENCE) for one in sign_ins] == [[b"signed in"]] * len(sign_ins)


def test_no_more_pages_are_worked_on_at_once_than_was_said(application):
    lanes, together = Lanes(application, WORKING), Barrier(WORKING * 4)

    def ask(_number):
        together.wait(PATIENCE)
        return lanes(asked("GET", "/practise/"), None)

    with ThreadPoolExecutor(WORKING * 4) as threads:
        assert all(page == [b"page"] for page in threads.map(ask, range(WORKING * 4)))
    assert application.most_inside <= WORKING


def test_a_page_that_fails_gives_its_place_back():
    def failing(_environ, _start):
        raise ValueError("invented")

    lanes = Lanes(failing, 1)

    for _ in range(3):  # the second would wait without end
        with pytest.raises(ValueError, match="invented"):
            lanes(asked("GET", "/"), None)


@pytest.mark.parametrize(
    ("method", "path", "expected"),
    [
        ("POST", "/sign-in", True),
        ("POST", "/account/password", True),
        ("POST", "/people/join/abc", True),
        ("GET", "/sign-in", False),
        ("POST", "/practise/next", False),
        ("POST", "/people/roster/report", False),
    ],
)
def test_forms_with_a_password_take_the_other_lane(method, path, expected):
    assert sends_a_password(asked(method, path)) is expected


def test_the_server_has_threads_for_all_who_may_wait():
    assert WAITING >= MOST_WAITING


def test_the_application_stands_behind_the_lanes_with_as_many_as_the_settings_say(app, house):
    assert isinstance(app.wsgi_app, Lanes)
    assert app.wsgi_app._working._initial_value == house.settings.threads
