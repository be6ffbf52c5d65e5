"""Every page against axe-core, on a phone's width, and in the dark."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from quizsvc.web.components.views import PAGES

PLACES = ["/sign-in", "/nowhere", "/components/", *(f"/components/{name}" for name in PAGES)]
SIGNED_IN = [
    *("/practise/", "/practise/history", "/practise/history?page=9"),
    *("/account", "/account/password", "/account/sessions"),
]
SMALLEST_TARGET, THUMB = 24, 44  # CSS pixels

SIZES = """
() => [...document.querySelectorAll("a, button, select, input:not([type=hidden]), summary")]
  .map((one) => one.closest("label.option") ?? one)
  .filter((one) => one.checkVisibility() && getComputedStyle(one).display !== "inline")
  .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .map(([what, box]) => [what, Math.min(box.width, box.height)])
  .filter(([what, size]) => size > 1)
"""


def violations_on(visitor):
    found = Axe().run(visitor.page).response
    assert len(found["passes"]) > 5, "axe-core looked at nothing"
    return [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]]


@pytest.mark.parametrize("place", PLACES)
def test_a_page_has_no_violation_at_the_desk(window_at_desk, place):
    window_at_desk.go(place)

    assert violations_on(window_at_desk) == []
    window_at_desk.forget_refusals()


@pytest.mark.parametrize("place", PLACES)
def test_a_page_fits_a_phone_in_the_dark_with_targets_for_thumbs(dark_phone, place):
    dark_phone.go(place)

    assert violations_on(dark_phone) == []
    assert dark_phone.width_beyond_screen() == 0
    sizes = dark_phone.page.evaluate(SIZES)
    assert [what for what, size in sizes if size < SMALLEST_TARGET] == []
    assert [what for what, size in sizes if "button" in what and size < THUMB] == []
    dark_phone.forget_refusals()


def test_pages_behind_the_sign_in_have_no_violation(at_desk):
    at_desk.sign_in()
    for place in SIGNED_IN:
        at_desk.go(place)

        assert violations_on(at_desk) == [], place
    at_desk.forget_refusals()


def test_pages_of_the_account_fit_a_phone(on_phone):
    on_phone.sign_in()
    for place in ("/account", "/account/password", "/account/sessions"):
        on_phone.go(place)

        assert violations_on(on_phone) == [], place
        assert on_phone.width_beyond_screen() == 0, place


def test_drawn_items_and_outcomes_of_every_topic_have_no_violation(on_phone):
    on_phone.sign_in("tom")
    page = on_phone.page
    on_phone.go("/practise/")
    names = page.get_by_role("button", name="Practise ").all_inner_texts()
    assert len(names) >= 5
    for name in names:
        on_phone.go("/practise/")
        page.get_by_role("button", name=name).click()
        assert violations_on(on_phone) == [], name
        assert on_phone.width_beyond_screen() == 0, name
        answer_somehow(page)
        assert page.get_by_role("button", name="Next item").count()
        assert violations_on(on_phone) == [], name
        assert on_phone.width_beyond_screen() == 0, name


def answer_somehow(page):
    """Give some answer of the right form, whatever the kind of item."""
    if page.locator("label.option").count():
        page.locator("label.option").first.click()
    elif page.locator("input[name=number]").count():
        page.locator("input[name=number]").fill("12")  # teeth are whole
    elif page.locator("select[name=ahead]").count():
        page.locator("select[name=ahead]").select_option("1")
    else:
        for choice in page.locator(".picks:not([data-order]) select").all():
            choice.select_option(index=1)
    page.get_by_role("button", name="Answer").click()
    page.wait_for_url("**/outcome*")
