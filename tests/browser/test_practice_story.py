"""Practice as a learner goes through it: by mouse, by keyboard alone, without script."""

import re

from playwright.sync_api import expect

QUESTION = "Which hand turns the crank"


def test_a_learner_answers_wrongly_learns_goes_on_and_looks_back(at_desk):
    page = at_desk.page
    at_desk.sign_in("lea")
    at_desk.take_item("Working safely", QUESTION)

    page.get_by_role("radio", name="Both hands").check()
    page.get_by_role("button", name="Answer").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Not right")
    expect(page.locator(".facts").first).to_contain_text("Both hands")
    expect(page.locator(".facts").first).to_contain_text("The right hand")
    expect(page.get_by_text("telltale: only one.").first).to_be_visible()
    expect(page.get_by_role("heading", name="How this moved your standing")).to_be_visible()
    page.get_by_text("What each option was").click()
    expect(page.get_by_text("telltale: right because of the test.")).to_be_visible()

    page.get_by_role("button", name="Next item").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Working safely")

    page.get_by_role("link", name="History").click()
    expect(page.get_by_role("link", name=QUESTION).first).to_be_visible()
    page.get_by_role("link", name=QUESTION).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Not right")


def test_what_helps_most_now_leads_to_an_item_and_says_why(at_desk):
    at_desk.sign_in("tom")

    at_desk.page.get_by_role("button", name="Start").click()

    expect(at_desk.page.get_by_role("button", name="Answer")).to_be_visible()
    expect(at_desk.page.get_by_text("Why this one:")).to_be_visible()


def test_by_keyboard_alone(at_desk):
    page, press = at_desk.page, at_desk.page.keyboard.press
    at_desk.go("/sign-in")
    press("Tab")
    expect(page.locator(":focus")).to_have_text("Skip to the content")
    press("Enter")
    press("Tab")
    page.keyboard.type("lea")
    press("Tab")
    page.keyboard.type("four words of invention")
    press("Enter")
    page.wait_for_url(re.compile("/practise/"))

    for _ in range(30):
        tab_to(page, "Practise Working safely")
        press("Enter")
        page.wait_for_url(re.compile("/items/"))
        if page.get_by_text(QUESTION).count():
            break
        at_desk.go("/practise/")
    while page.evaluate("document.activeElement.type") != "radio":
        press("Tab")
    press("Space")
    press("ArrowDown")
    expect(page.locator(":focus")).to_be_checked()
    assert outline_of(page.locator(".option:has(:focus)")) >= 3
    press("Tab")
    assert outline_of(page.locator(":focus")) >= 3
    press("Enter")

    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("Right|Not right"))
    tab_to(page, "Next item")
    press("Enter")
    expect(page.get_by_role("button", name="Answer")).to_be_visible()


def test_without_script_every_kind_can_be_answered(without_script):
    page = without_script.page
    without_script.sign_in("ivo")

    without_script.take_item("Working safely", "A bolt takes")
    page.get_by_label("Your answer in N·m").fill("12,5")
    page.get_by_role("button", name="Answer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Right")

    without_script.take_item("Taking apart", "Put the work in order.")
    for place, words in enumerate(("Drain the coolant", "Take the pump off", "Fill up"), 1):
        page.get_by_label(words).select_option(str(place))
    page.get_by_role("button", name="Answer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Right")

    without_script.take_item("Taking apart", "Match each part")
    for left, right in (("Plunger", "Arm"), ("Arm", "Chain"), ("Chain", "Sprocket")):
        page.get_by_label(left, exact=True).select_option(right)
    page.get_by_role("button", name="Answer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Right")

    without_script.take_item("Taking apart", "Where is the larger wheel")
    page.get_by_label("on the right").check()
    page.get_by_role("button", name="Answer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Right")


def test_a_refused_number_stays_in_its_field(at_desk):
    page = at_desk.page
    at_desk.sign_in("mia")
    at_desk.take_item("Working safely", "A bolt takes")

    page.get_by_label("Your answer").fill("twelve")
    page.get_by_role("button", name="Answer").click()

    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Your answer")).to_have_value("twelve")
    page.get_by_role("alert").get_by_role("link").click()
    expect(page.get_by_label("Your answer")).to_be_focused()
    at_desk.forget_refusals()


def test_the_back_button_after_an_answer_leads_to_the_outcome(at_desk):
    page = at_desk.page
    at_desk.sign_in("tom")
    at_desk.take_item("Working safely", QUESTION)
    page.get_by_role("radio", name="Both hands").check()
    page.get_by_role("button", name="Answer").click()

    page.go_back()

    expect(page.get_by_role("heading", level=1)).to_have_text("Not right")


def tab_to(page, name):
    """Press Tab until the button of this name has the focus."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if " ".join(page.evaluate("document.activeElement.textContent").split()) == name:
            return
    raise AssertionError(f"Tab never reaches {name!r}")


def outline_of(locator):
    return locator.evaluate("one => parseFloat(getComputedStyle(one).outlineWidth)")
