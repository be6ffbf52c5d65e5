"""Few requests are worked on at once, in order; who waits for a password check steps aside."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event, Lock

import pytest

from quizsvc.cli.serve import WAITING
from quizsvc.services.passwords import MOST_WAITING
from quizsvc.web.lanes import PAGES_FIRST, Gate, Lanes, sends_a_password

WORKING = 3
PATIENCE = 30  # seconds until a test gives up; nothing is judged by them


def asked(method: str, path: str) -> dict[str, str]:
    return {"REQUEST_METHOD": method, "PATH_INFO": path}


class Application:
    """Holds sign-ins until let go; counts how many are at work at the same moment."""

    def __init__(self) -> None:
        self.gate = Gate(WORKING)
        self.let_go, self.mutex = Event(), Lock()
        self.inside = self.most_inside = self.signing_in = 0

    def __call__(self, environ, _start):
        if sends_a_password(environ):
            with self.mutex:
                self.signing_in += 1
            with self.gate.aside():
                assert self.let_go.wait(PATIENCE)
        with self.mutex:
            self.inside += 1
            self.most_inside = max(self.most_inside, self.inside)
        Event().wait(0.002)  # long enough for others to come in, were they let
        with self.mutex:
            self.inside -= 1
        return [b"done"]


@pytest.fixture
def application():
    made = Application()
    yield made
    made.let_go.set()


def wait_until(reached):
    for _ in range(PATIENCE * 1000):
        if reached():
            return
        Event().wait(0.001)
    raise AssertionError("it never came to that")


def test_pages_are_answered_while_more_sign_in_than_are_worked_on(application):
    lanes = Lanes(application, application.gate)
    with ThreadPoolExecutor(WORKING * 4 + 1) as threads:
        sign_ins = [
            threads.submit(lanes, asked("POST", "/sign-in"), None) for _ in range(WORKING * 4)
        ]
        wait_until(lambda: application.signing_in == len(sign_ins))

        page = threads.submit(lanes, asked("GET", "/practise/"), None).result(PATIENCE)

        assert page == [b"done"]
        assert not any(one.done() for one in sign_ins)
        application.let_go.set()
        assert [one.result(PATIENCE) for one in sign_ins] == [[b"done"]] * len(sign_ins)
    assert application.most_inside <= WORKING


def test_no_more_are_worked_on_at_once_than_was_said(application):
    lanes, together = Lanes(application, application.gate), Barrier(WORKING * 4)

    def ask(_number):
        together.wait(PATIENCE)
        return lanes(asked("GET", "/practise/"), None)

    with ThreadPoolExecutor(WORKING * 4) as threads:
        assert all(page == [b"done"] for page in threads.map(ask, range(WORKING * 4)))
    assert application.most_inside <= WORKING


def queue_up(gate, threads, order, names):
    """Let each come to a full gate after the other; return what they run as."""
    done = []

    def work(name):
        with gate.place(patient=name.startswith("sign-in")):
            order.append(name)

    for name in names:
        before = len(gate._pages) + len(gate._patient)
        done.append(threads.submit(work, name))
        wait_until(lambda before=before: len(gate._pages) + len(gate._patient) == before + 1)
    return done


def test_pages_go_in_in_the_order_in_which_they_came():
    gate, order, names = Gate(1), [], [f"page {number}" for number in range(6)]
    with ThreadPoolExecutor(len(names)) as threads:
        with gate.place():
            done = queue_up(gate, threads, order, names)
        for one in done:
            one.result(PATIENCE)

    assert order == names


def test_pages_go_before_sign_ins_but_not_for_ever():
    gate, order = Gate(1), []
    pages = [f"page {number}" for number in range(2 * PAGES_FIRST)]
    with ThreadPoolExecutor(len(pages) + 2) as threads:
        with gate.place():
            done = queue_up(gate, threads, order, ["sign-in 1", "sign-in 2", *pages])
        for one in done:
            one.result(PATIENCE)

    assert order == [
        *pages[:PAGES_FIRST], "sign-in 1", *pages[PAGES_FIRST:], "sign-in 2"
    ]  # fmt: skip


def test_a_page_that_fails_gives_its_place_back():
    def failing(_environ, _start):
        raise ValueError("invented")

    lanes = Lanes(failing, Gate(1))

    for _ in range(3):  # the second would wait without end
        with pytest.raises(ValueError, match="invented"):
            lanes(asked("GET", "/"), None)


def test_stepping_aside_without_a_place_changes_nothing():
    gate = Gate(1)

    with gate.aside(), gate.aside():
        pass

    assert gate._free == 1


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
def test_forms_with_a_password_go_in_after_pages(method, path, expected):
    assert sends_a_password(asked(method, path)) is expected


def test_the_server_has_threads_for_all_who_may_wait():
    assert WAITING >= MOST_WAITING


def test_the_application_stands_behind_the_gate_with_as_many_places_as_the_settings_say(app, house):
    assert isinstance(app.wsgi_app, Lanes)
    assert app.wsgi_app.gate.places == house.settings.threads
    assert house.passwords.step_aside == app.wsgi_app.gate.aside
