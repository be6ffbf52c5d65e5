"""An instructor changes an engine sheet: sees the finding, mends it, saves, sees what changed."""

import re

from playwright.sync_api import expect
from test_accessible_pages import violations_on

EDIT = "/sheets/demo-vee-six/edit"


def open_section(page, name):
    page.locator(f"#section-{name} > summary").click()


def test_a_number_is_checked_while_it_is_typed_then_saved_and_compared(at_desk):
    at_desk.sign_in("ivo")
    page = at_desk.page
    at_desk.go(EDIT)
    open_section(page, "drives")
    before = page.locator("[data-figures] svg").first.inner_html()

    page.locator("#drives-2-wheels-1-teeth").fill("26")
    expect(page.locator("[data-status]")).to_contain_text("4 errors")
    expect(page.locator("#said-drives-2-pins")).to_contain_text("the chain is too short")
    expect(page.locator("#drives-2-pins")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("[data-figures] svg").first).to_contain_text("26 teeth")
    assert page.locator("[data-figures] svg").first.inner_html() != before

    page.locator("#drives-2-wheels-1-teeth").fill("24")
    expect(page.locator("[data-status]")).to_have_text("Nothing found")
    expect(page.locator("#said-drives-2-pins")).to_be_empty()

    open_section(page, "valves")
    page.locator("#valves-events-ivo_btdc").fill("6")
    page.get_by_label("What changed, and why").fill("Read from the cam card (invented).")
    page.get_by_role("button", name="Save and publish").click()

    expect(page).to_have_url(re.compile("/difference"))
    expect(page.get_by_role("heading", level=1)).to_have_text("What changed from revision 1 to 2")
    expect(page.get_by_role("row", name="Intake opens before TDC")).to_contain_text("6°")
    expect(page.locator("#families ~ .sideways")).to_contain_text("Turn to a valve event")
    assert violations_on(at_desk) == []


def test_a_link_among_the_findings_leads_to_its_field_in_a_shut_section(at_desk):
    at_desk.sign_in("ivo")
    page = at_desk.page
    at_desk.go("/sheets/demo-inline-four/edit")
    open_section(page, "pistons")
    page.locator("#piston-rod_mm").fill("fourteen")
    expect(page.locator("[data-findings]")).to_contain_text("not a number")
    open_section(page, "pistons")

    page.get_by_role("link", name="Pistons and crank, rod between centres").click()

    expect(page.locator("#piston-rod_mm")).to_be_focused()
    page.locator("#piston-rod_mm").fill("143")  # as it was
    page.on("dialog", lambda dialog: dialog.accept())


def test_without_script_rows_and_the_check_work_by_buttons(without_script):
    without_script.sign_in("ivo")
    page = without_script.page
    without_script.go("/sheets/demo-inline-four/edit")
    open_section(page, "fasteners")
    rows = page.locator("#fasteners > .row")
    count = rows.count()

    page.get_by_role("button", name="Add fastener").click()
    expect(rows).to_have_count(count + 1)

    page.locator("#valves-intake_lift_mm").evaluate("one => one.closest('details').open = true")
    page.locator("#valves-intake_lift_mm").fill("99")
    page.get_by_role("button", name="Check and draw").click()
    expect(page.locator("#said-fasteners-9-title, #said-fasteners-9-id").first).to_be_attached()
    expect(page.locator("#valves-intake_lift_mm")).to_have_value("99")
    without_script.forget_refusals()


PLACES = [
    "/sheets/", "/sheets/demo-vee-eight", "/sheets/demo-vee-eight/edit", "/sheets/new",
    "/sheets/upload", "/families/", "/families/piston-drop", "/families/bench-refit-chain",
]  # fmt: skip


def test_the_pages_have_no_violation_and_fit_a_phone(on_phone):
    on_phone.sign_in("ivo")
    for place in PLACES:
        on_phone.go(place)
        on_phone.page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")

        assert violations_on(on_phone) == [], place
        assert on_phone.width_beyond_screen() == 0, place
