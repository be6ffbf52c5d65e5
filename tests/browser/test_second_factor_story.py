"""Setting up a second factor and signing in with it, as people do before a browser."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
from furnished import PASSWORD
from playwright.sync_api import expect
from test_accessible_pages import violations_on

from quizsvc.rules.second_factor import code_at, step_at

PAGE = "/account/second-factor"


def in_order(visitor) -> None:
    """Hold that the page as it stands is accessible and no wider than the screen."""
    assert violations_on(visitor) == []
    assert visitor.width_beyond_screen() == 0


def type_password(visitor, name: str) -> None:
    visitor.go("/sign-in")
    visitor.page.get_by_label("Sign-in name").fill(name)
    visitor.page.get_by_label("Password").fill(PASSWORD)
    visitor.page.get_by_role("button", name="Sign in").click()


def turn_on(visitor) -> list[str]:
    """Type password and first code on the page that shows the secret; return recovery codes."""
    page = visitor.page
    secret = page.locator(".secret").inner_text().replace(" ", "")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_label("Code from the app").fill(code_at(secret, step_at(datetime.now(UTC))))
    page.get_by_role("button", name="Turn it on").click()
    expect(page.get_by_role("heading", name="Your second factor is on")).to_be_visible()
    return page.locator(".codes li").all_inner_texts()


@pytest.mark.parametrize(("who", "name"), [("at_desk", "lea"), ("on_phone", "tom")])
def test_set_it_up_then_sign_in_with_a_recovery_code(request, who, name):
    visitor = request.getfixturevalue(who)
    page = visitor.page
    visitor.sign_in(name)
    visitor.go("/account")
    in_order(visitor)
    page.get_by_role("link", name="Set it up").click()
    page.get_by_role("button", name="Set it up").click()
    in_order(visitor)
    drawn = page.locator("svg.qr").bounding_box()
    assert 200 <= drawn["width"] <= 320

    codes = turn_on(visitor)

    in_order(visitor)
    assert len(codes) == 10
    visitor.go(PAGE)
    in_order(visitor)
    page.context.clear_cookies()
    type_password(visitor, name)
    page.wait_for_url("**/sign-in/code*")
    in_order(visitor)
    field = page.get_by_label("Code from the app")
    assert field.get_attribute("inputmode") == "numeric"
    assert field.get_attribute("autocomplete") == "one-time-code"
    field.fill("12")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("alert")).to_contain_text("This code does not count.")
    in_order(visitor)
    page.get_by_text("Use a recovery code instead").click()
    page.get_by_label("Recovery code", exact=True).fill(codes[0].lower())
    page.get_by_role("button", name="Go on").click()
    page.wait_for_url(re.compile("/practise/"))
    visitor.forget_refusals()


def test_who_is_asked_sets_it_up_without_script(without_script, browser, server, visits):
    manager = visits(browser, server)
    manager.sign_in("mia")
    manager.go("/people/signing-in")
    in_order(manager)
    manager.page.get_by_label("Instructors").check()
    manager.page.get_by_role("button", name="Keep it so").click()
    type_password(without_script, "isa")
    without_script.page.wait_for_url(f"**{PAGE}")
    expect(without_script.page.get_by_text("Your shop asks this of you")).to_be_visible()

    without_script.page.get_by_role("button", name="Set it up").click()
    codes = turn_on(without_script)

    without_script.page.get_by_role("link", name="I have kept them").click()
    without_script.page.wait_for_url(re.compile("/practise/"))
    without_script.page.context.clear_cookies()
    type_password(without_script, "isa")
    without_script.page.get_by_text("Use a recovery code instead").click()
    without_script.page.get_by_label("Recovery code", exact=True).fill(codes[1])
    without_script.page.get_by_role("button", name="Go on").click()
    without_script.page.wait_for_url(re.compile("/practise/"))
