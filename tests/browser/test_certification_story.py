"""From a blueprint to a verified certificate to a revoked one, by four people in the browser."""

from __future__ import annotations

import re

import pytest
from furnished import furnished_house
from playwright.sync_api import expect
from served_pages import PHONE, serving
from test_accessible_pages import SIZES, THUMB, violations_on

TITLE = "Timing work (invented)"
STEPS = "!Battery disconnected\n!Engine turned by hand, two turns\nWork place left clean"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    house = furnished_house(tmp_path_factory.mktemp("shop"))
    with serving(house) as address:
        yield address


def signed_in(visits, browser, shop, name, **how):
    visitor = visits(browser, shop, **how)
    visitor.sign_in(name)
    return visitor


def make_scheme(ivo):
    page = ivo.page
    ivo.go("/certificates/schemes")
    page.get_by_role("link", name="Make one").click()
    page.get_by_label("Title").fill(TITLE)
    page.get_by_label("Scope").fill("Times the invented engines.")
    page.get_by_label("Started by a code shown in the room").uncheck()
    page.get_by_label("Expected score may differ by, points").fill("2")
    page.get_by_label("Information may differ by, %").fill("100")
    page.get_by_role("textbox", name="Working safely Recall").fill("1")
    page.get_by_role("textbox", name="Working safely Apply").fill("1")
    page.get_by_label("Name", exact=True).fill("Replace a chain")
    page.get_by_label("Steps, one a line").fill(STEPS)
    page.get_by_label("Steps needed").fill("2")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(TITLE)
    expect(page.get_by_role("heading", name="No form can be built")).to_have_count(0)
    for judge in ("Ivo Invented", "Mia Invented"):
        page.get_by_label(judge).check()
    page.get_by_role("button", name="Open the panel").click()


def judge(visitor, *estimates):
    visitor.go("/certificates/schemes")
    visitor.page.get_by_role("link", name=f"{TITLE}, version 1").click()
    for box, estimate in zip(
        visitor.page.get_by_label("Of 100 just good enough").all(), estimates, strict=True
    ):
        box.fill(str(estimate))
    visitor.page.get_by_role("button", name="Hand in for good").click()
    expect(visitor.page.get_by_text("Your estimates stand.")).to_be_visible()


def sit(lea):
    page = lea.page
    lea.go("/classroom/")
    page.get_by_role("link", name=re.compile(f"Open {re.escape(TITLE)}")).click()
    page.get_by_role("button", name="Begin").click()
    for _ in range(2):
        answer_right(page)
        expect(page.locator("[data-ack]")).to_have_text(re.compile("^Saved at"))
        page.get_by_role("button", name=re.compile("^Save, then")).first.click()
    page.get_by_role("button", name="Hand in now").click()
    expect(page.get_by_text("told when the instructor releases it")).to_be_visible()


def answer_right(page):
    if page.get_by_text("Which hand turns the crank").count():
        page.get_by_role("radio", name="The right hand").check(force=True)
    elif page.get_by_text("Which two are tools").count():
        page.get_by_role("checkbox", name="Spanner").check(force=True)
        page.get_by_role("checkbox", name="Gauge").check(force=True)
    else:
        page.locator("input[name=number]").fill("12.5")


def sign_off(ivo):
    page = ivo.page
    ivo.go("/certificates/sign-offs")
    page.get_by_label("Candidate").select_option(label="Lea Invented")
    page.get_by_role("button", name="Begin a checklist").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Replace a chain")
    assert violations_on(ivo) == []
    assert ivo.width_beyond_screen() == 0
    sizes = ivo.page.evaluate(SIZES)
    assert [what for what, size in sizes if "button" in what and size < THUMB] == []
    page.get_by_label("Battery disconnected").check()
    page.get_by_label("Engine turned by hand").check()
    page.get_by_label("Notes").fill("Marks line up after two turns.")
    page.get_by_role("button", name="Hand in for good").click()
    expect(page.get_by_text("Signed off: passed.")).to_be_visible()


def approve_and_publish(mia):
    mia.page.get_by_label("the mean").check()
    mia.page.get_by_label("Why this one").fill("The judges agree well enough.")
    mia.page.get_by_role("button", name="Approve the cut").click()
    mia.page.get_by_role("button", name="Publish").click()
    expect(mia.page.get_by_text("Published. From now on")).to_be_visible()


def decide(ivo, mia):
    """Ivo assessed her, so his decision is only a proposal until Mia confirms it."""
    ivo.go("/certificates/candidates")
    ivo.page.get_by_role("link", name="Lea Invented").click()
    ivo.page.get_by_role("button", name="Propose to certify").click()
    expect(ivo.page.get_by_text("Proposed.")).to_be_visible()
    mia.go("/certificates/candidates")
    mia.page.get_by_role("link", name="Lea Invented").click()
    mia.page.get_by_role("button", name="Confirm the decision").click()
    expect(mia.page.get_by_text("The decision stands.")).to_be_visible()


def test_from_blueprint_to_verified_certificate_to_revoked(browser, shop, visits, tmp_path):
    ivo = signed_in(visits, browser, shop, "ivo")
    mia = signed_in(visits, browser, shop, "mia")
    make_scheme(ivo)
    judge(ivo, 60, 70)
    judge(mia, 50, 60)
    approve_and_publish(mia)

    ivo.go("/certificates/candidates")
    ivo.page.get_by_label("Candidate").select_option(label="Lea Invented")
    ivo.page.get_by_role("button", name="Admit to the test").click()
    expect(ivo.page.get_by_text("Admitted.")).to_be_visible()
    lea = signed_in(visits, browser, shop, "lea", viewport=PHONE, has_touch=True, is_mobile=True)
    sit(lea)
    on_phone = signed_in(
        visits, browser, shop, "ivo", viewport=PHONE, has_touch=True, is_mobile=True
    )
    sign_off(on_phone)

    decide(ivo, mia)

    lea.go("/certificates/")
    assert violations_on(lea) == []
    lea.page.get_by_role("link", name=TITLE).click()
    with lea.page.expect_download() as download:
        lea.page.get_by_role("link", name="Credential (JSON with proof)").click()
    file = tmp_path / "credential.json"
    download.value.save_as(file)
    public = lea.page.get_by_role("link", name="verify").get_attribute("href")

    stranger = visits(browser, shop)
    stranger.go(public)
    expect(stranger.page.get_by_role("heading", level=1)).to_have_text("This certificate is valid")
    expect(stranger.page.get_by_text("Lea Invented")).to_be_visible()
    expect(stranger.page.get_by_text("Score")).to_have_count(0)
    assert violations_on(stranger) == []
    verify(stranger, file, "It stands")

    mia.go("/certificates/issued")
    mia.page.get_by_role("link", name="Lea Invented").click()
    mia.page.get_by_label("Reason to revoke for good").fill("Issued to the wrong person.")
    mia.page.get_by_role("button", name="Revoke for good").click()
    expect(mia.page.get_by_text("The certificate is revoked.")).to_be_visible()

    stranger.go(public)
    expect(stranger.page.get_by_role("heading", level=1)).to_have_text(
        "This certificate was revoked"
    )
    expect(stranger.page.get_by_text("wrong person")).to_have_count(0)
    verify(stranger, file, "It does not stand")
    expect(stranger.page.get_by_text("Revoked by the issuer.")).to_be_visible()


def verify(stranger, file, heading):
    stranger.go("/verify")
    stranger.page.get_by_label("Credential file").set_input_files(file)
    stranger.page.get_by_label("Who shows it").fill("Lea Invented")
    stranger.page.get_by_role("button", name="Verify").click()
    expect(stranger.page.get_by_role("heading", name=heading)).to_be_visible()


STAFF_PAGES = ("schemes", "schemes/new", "candidates", "sign-offs", "issued", "keys")


def test_the_pages_of_certification_have_no_violation_and_fit_a_phone(browser, shop, visits):
    mia = signed_in(visits, browser, shop, "mia", viewport=PHONE, is_mobile=True)
    desk = signed_in(visits, browser, shop, "mia")

    for page in STAFF_PAGES:
        for visitor in (mia, desk):
            visitor.go(f"/certificates/{page}")
            assert violations_on(visitor) == [], page
            assert visitor.width_beyond_screen() == 0, page
