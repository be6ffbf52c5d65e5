"""Three people at once: one gives a test, two sit it, one loses the connection; then the result."""

from __future__ import annotations

import re

import pytest
from furnished import START, furnished_house
from playwright.sync_api import expect
from served_pages import PHONE, serving

from quizsvc.store import classes
from quizsvc.store.classes import Part
from quizsvc.store.people import find_for_sign_in


@pytest.fixture(scope="module")
def school(tmp_path_factory):
    """Serve a house with a class: Ivo leads it, Lea and Tom learn in it."""
    house = furnished_house(tmp_path_factory.mktemp("school"))
    with house.write() as connection:
        class_id = classes.add_class(connection, 1, "Evening", now=START)
        for name in ("ivo", "lea", "tom"):
            key = find_for_sign_in(connection, name).person_id
            part = Part.INSTRUCTOR if name == "ivo" else Part.LEARNER
            classes.add_member(connection, class_id, key, part, now=START)
    with serving(house) as address:
        yield address


def build_a_test(ivo, title: str) -> None:
    page = ivo.page
    ivo.go("/classroom/assignments/new")
    page.get_by_label("Title").fill(title)
    page.get_by_label("Form").select_option("timed test")
    page.get_by_label("Minutes").fill("30")
    page.get_by_label("What was right is told").select_option("when released")
    page.get_by_label("Started by a code").check()
    page.get_by_label("Class").select_option(label="Evening")
    page.get_by_role("button", name="Make it").click()
    for topic in ("Working safely", "Taking apart and putting together"):
        page.get_by_label("Topic", exact=True).select_option(label=topic)
        page.get_by_label("How many").first.fill("1")
        page.get_by_role("button", name="Add from the topic").click()
    page.get_by_role("button", name="Give it out").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(title)


def enter(visitor, title: str, code: str) -> None:
    visitor.go("/classroom/")
    visitor.page.get_by_role("link", name=f"Open {title}").click()
    visitor.page.get_by_label("Code of the room").fill(code)
    visitor.page.get_by_role("button", name="Begin").click()
    expect(visitor.page.get_by_text("Question 1 of 2")).to_be_visible()


def give_an_answer(page) -> None:
    """Answer whatever is asked, without pressing a button of the form."""
    if page.locator("input[type=radio]").count():
        page.locator("input[type=radio]").first.check(force=True)
    elif page.locator("input[type=checkbox]").count():
        page.locator("input[type=checkbox]").first.check(force=True)
    elif page.locator(".pick__move").count():
        page.locator(".pick__move[data-way='1']").first.click()
    elif page.locator("input[name=number]").count():
        page.locator("input[name=number]").fill("3")
    else:
        for box in page.locator("form select").all():
            box.select_option(index=1)


def saved(page):
    return expect(page.locator("[data-ack]"))


def test_assign_sit_watch_and_report_with_three_persons_at_once(browser, school, visits):
    ivo = visits(browser, school)
    lea = visits(browser, school, viewport=PHONE, has_touch=True, is_mobile=True)
    tom = visits(browser, school)
    for visitor, name in ((ivo, "ivo"), (lea, "lea"), (tom, "tom")):
        visitor.sign_in(name)
    build_a_test(ivo, "Evening test")
    ivo.page.get_by_role("button", name="Open the room").click()
    code = ivo.page.locator(".code--large").inner_text()

    enter(lea, "Evening test", code)
    enter(tom, "Evening test", code.lower())
    for visitor in (lea, tom):
        give_an_answer(visitor.page)
        saved(visitor.page).to_have_text(re.compile("^Saved at"))
    expect(lea.page.locator("[data-count]")).to_have_text("1 of 2 answered")
    # The live view finds it out by itself.
    row = ivo.page.get_by_role("row", name=re.compile("Lea Invented"))
    expect(row).to_contain_text("1 of 2", timeout=9000)

    # Lea loses the connection: it is said, and what she gave is saved when it comes back.
    lea.page.get_by_role("button", name="Save, then next").click()
    lea.page.context.set_offline(True)
    give_an_answer(lea.page)
    saved(lea.page).to_have_text(re.compile("^Not saved yet"))
    lea.page.context.set_offline(False)
    saved(lea.page).to_have_text(re.compile("^Saved at"), timeout=9000)
    lea.complaints[:] = [said for said in lea.complaints if "INTERNET_DISCONNECTED" not in said]

    ivo.page.get_by_role("button", name="Pause all").click()
    expect(row).to_contain_text("Paused")
    tom.page.reload()
    expect(tom.page.get_by_role("heading", name="Paused")).to_be_visible()
    ivo.page.get_by_role("button", name="Let all go on").click()
    tom.page.reload()
    expect(tom.page.get_by_role("heading", name="Paused")).to_have_count(0)
    tom.page.get_by_role("button", name="Mark to look at again").click()

    for visitor in (lea, tom):
        visitor.page.get_by_role("button", name=re.compile("[Hh]and(ing)? in")).first.click()
        visitor.page.get_by_role("button", name="Hand in now").click()
        expect(visitor.page.get_by_text("told when the instructor releases it")).to_be_visible()
    ivo.page.get_by_role("link", name="Load again").click()
    expect(ivo.page.get_by_text("2 finished")).to_be_visible()
    ivo.page.get_by_role("button", name="Release what was right").click()

    lea.page.reload()
    expect(lea.page.locator(".result")).to_contain_text("of 2")
    ivo.page.get_by_role("link", name="Lea Invented").click()
    expect(ivo.page.get_by_text("Each question stands here whole")).to_be_visible()


def test_without_script_a_test_can_be_sat_from_beginning_to_end(browser, school, visits):
    ivo, tom = visits(browser, school), visits(browser, school, java_script_enabled=False)
    ivo.sign_in("ivo")
    tom.sign_in("tom")
    build_a_test(ivo, "Plain test")
    ivo.page.get_by_role("button", name="Open the room").click()
    enter(tom, "Plain test", ivo.page.locator(".code--large").inner_text())
    page = tom.page

    while page.locator("input[type=radio]").count() == 0:
        page.get_by_role("button", name=re.compile("^2")).click()
    page.locator("input[type=radio]").first.check(force=True)
    page.get_by_role("button", name=re.compile("^Save, then")).first.click()
    if not page.get_by_role("button", name="Hand in now").count():
        page.get_by_role("button", name=re.compile("[Hh]and(ing)? in")).first.click()

    expect(page.get_by_text("1 of 2 answered")).to_be_visible()
    page.get_by_role("button", name="Hand in now").click()
    expect(page.get_by_text("1 of 2 questions have an answer")).to_be_visible()


def test_a_second_device_takes_over_and_the_first_is_told(browser, school, visits):
    ivo, desk, phone = (visits(browser, school) for _ in range(3))
    ivo.sign_in("ivo")
    desk.sign_in("lea")
    phone.sign_in("lea")
    build_a_test(ivo, "Two devices")
    ivo.page.get_by_role("button", name="Open the room").click()
    enter(desk, "Two devices", ivo.page.locator(".code--large").inner_text())

    phone.go("/classroom/")
    phone.page.get_by_role("link", name="Go on with Two devices").click()
    phone.page.get_by_role("button", name="Continue here").click()
    give_an_answer(phone.page)
    saved(phone.page).to_have_text(re.compile("^Saved at"))

    give_an_answer(desk.page)
    saved(desk.page).to_have_text(re.compile("^Not saved: this was continued at another place"))
    desk.forget_refusals()


@pytest.mark.parametrize(
    "path",
    [
        "/classroom/",
        "/classroom/calendar",
        "/classroom/assignments",
        "/classroom/assignments/new",
        "/people/classes",
    ],
)
def test_no_page_is_wider_than_a_phone(browser, school, visits, path):
    ivo = visits(browser, school, viewport=PHONE, is_mobile=True)
    ivo.sign_in("ivo")

    ivo.go(path)

    assert ivo.width_beyond_screen() <= 0
