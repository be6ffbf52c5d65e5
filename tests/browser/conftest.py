"""A real server on loopback and a real Chromium before it."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from quizsvc.demo.making import make_demo
from quizsvc.rules.actors import Role

# The furnished house is shared with the tests of the web, which stand beside this folder.
sys.path.insert(0, str(Path(__file__).parents[1] / "web"))
from furnished import PASSWORD, furnished_house, reopened_house
from served_pages import DESK, PHONE, serving

ARGUMENTS = [
    "--disable-background-networking",
    "--disable-gpu",
    "--no-first-run",
    # Chromium refuses its sandbox to root; elsewhere it stays.
    *(["--no-sandbox"] if os.geteuid() == 0 else []),
]
TREE = Path(__file__).parents[2]


def pytest_collection_modifyitems(items):
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker("browser")


@pytest.fixture(scope="session")
def chromium() -> str:
    found = shutil.which("chromium")
    # In CI a skip is a failure (tests/conftest.py).
    return found or pytest.skip("Chromium is missing: apt-get install chromium")


@pytest.fixture(scope="session")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[str]:
    house = furnished_house(tmp_path_factory.mktemp("house"), page_of_components=True)
    with serving(house) as address:
        yield address


@pytest.fixture(scope="module")
def invented_shop(tmp_path_factory) -> Iterator[tuple[str, str]]:
    """Serve the demo's shop, small; give its address and the name a learner signs in with."""
    house = reopened_house(tmp_path_factory.mktemp("shop"), media=TREE / "media")
    made = make_demo(
        house,
        password=PASSWORD,
        learners=2,
        now=datetime.now(UTC),
        progress=lambda *_: None,
    )
    with serving(house) as address:
        yield address, made.sign_ins[Role.LEARNER].sign_in_name


class Visitor:
    """A person before the browser: what they do, in their words."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.address = address
        self.complaints: list[str] = []  # of the console: refused styles, failed scripts
        page.on("console", lambda said: self.complaints.append(said.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def go(self, path: str) -> None:
        self.page.goto(self.address + path)

    def sign_in(self, name: str = "lea") -> None:
        self.go("/sign-in")
        self.page.get_by_label("Sign-in name").fill(name)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_url(re.compile("/practise/"))

    def take_item(self, topic: str, saying: str) -> None:
        """Take items of a topic until one says these words."""
        for _ in range(80):
            self.go("/practise/")
            self.page.get_by_role("button", name=f"Practise {topic}").click()
            if self.page.locator(".prompt").get_by_text(saying).count():
                return
        raise AssertionError(f"no item says {saying!r}")

    def forget_refusals(self) -> None:
        """Forget what Chromium itself notes of answers of status 4xx that a test asked for."""
        self.complaints[:] = [said for said in self.complaints if "status of 4" not in said]

    def width_beyond_screen(self) -> int:
        return self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )


@pytest.fixture
def visits():
    """Return a way to open windows of one's own choosing; closes them at the end."""
    open_windows = []

    def opened(browser: Browser, address: str, **how: object) -> Visitor:
        window = visit(browser, address, **how)
        open_windows.append(window)
        return next(window)

    yield opened
    for window in open_windows:
        next(window, None)


def visit(browser: Browser, server: str, **how: object) -> Iterator[Visitor]:
    context = browser.new_context(**({"viewport": DESK} | how))
    visitor = Visitor(context.new_page(), server)
    yield visitor
    context.close()
    assert not visitor.complaints


@pytest.fixture
def at_desk(browser, server) -> Iterator[Visitor]:
    yield from visit(browser, server)


@pytest.fixture
def on_phone(browser, server) -> Iterator[Visitor]:
    yield from visit(browser, server, viewport=PHONE, has_touch=True, is_mobile=True)


@pytest.fixture
def without_script(browser, server) -> Iterator[Visitor]:
    yield from visit(browser, server, java_script_enabled=False)


# Pages that need no signing in are looked at one after another in the same window.
@pytest.fixture(scope="module")
def window_at_desk(browser, server) -> Iterator[Visitor]:
    yield from visit(browser, server)


@pytest.fixture(scope="module")
def dark_phone(browser, server) -> Iterator[Visitor]:
    yield from visit(browser, server, color_scheme="dark", viewport=PHONE, is_mobile=True)
