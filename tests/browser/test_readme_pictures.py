"""The pages the README shows, of the invented shop; kept as pictures when asked for.

QUIZSVC_SCREENSHOTS=1 writes them to media/screenshots.
"""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import expect

FOLDER = Path(__file__).parents[2] / "media" / "screenshots"
KEPT = os.environ.get("QUIZSVC_SCREENSHOTS") == "1"
SIZES = {"1280": {"width": 1280, "height": 800}, "390": {"width": 390, "height": 844}}


@pytest.fixture(params=SIZES)
def learner(request, browser, invented_shop, visits):
    address, name = invented_shop
    visitor = visits(browser, address, viewport=SIZES[request.param])
    visitor.sign_in(name)
    return visitor, request.param


def test_pages_of_practice(learner):
    visitor, size = learner
    page = visitor.page
    expect(page.get_by_text("What helps most now")).to_be_visible()
    keep(page, f"practice-{size}")

    answer_wrongly(visitor, f"item-{size}")
    expect(page.get_by_text("Worked through")).to_be_visible()
    keep(page, f"outcome-{size}")

    visitor.go("/practise/history")
    expect(page.get_by_role("heading", name="History")).to_be_visible()
    keep(page, f"history-{size}")


def answer_wrongly(visitor, name):
    """Answer items until one is not right: that outcome has the most to show."""
    page = visitor.page
    for _ in range(10):
        visitor.take_item("Timing marks", "Is the camshaft in time")
        keep(page, name)
        page.locator("label.option").last.click()
        page.get_by_role("button", name="Answer").click()
        if page.get_by_role("heading", name="Not right").count():
            return
    raise AssertionError("ten last options were right")


def keep(page, name):
    picture = Image.open(BytesIO(page.screenshot(full_page=name.startswith(("item", "outcome")))))
    assert len(set(picture.convert("L").resize((40, 40)).tobytes())) > 3, "an empty page"
    if KEPT:
        FOLDER.mkdir(parents=True, exist_ok=True)
        few_colours = picture.convert("RGB").quantize(256)  # a drawing needs no more
        few_colours.save(FOLDER / f"{name}.png", optimize=True)
