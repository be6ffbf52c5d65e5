"""A manager's day: a job, who is ready, why not, cover, a change, and the tables as files."""

import csv
import io
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from openpyxl import load_workbook
from playwright.sync_api import expect

PAGES = [
    *("/shop/", "/shop/cover", "/shop/trend", "/shop/changes", "/shop/jobs", "/shop/jobs/new"),
    *("/shop/people/1", "/shop/record", "/shop/privacy", "/shop/sheets/demo-inline-four"),
]
PHONE = {"width": 390, "height": 844}


def axe_on(page):
    found = Axe().run(page).response
    return [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]]


def downloaded(page, link):
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link).click()
    return Path(waiting.value.path()).read_bytes()


def add_job(page):
    page.get_by_role("link", name="Shop", exact=True).click()
    page.get_by_role("link", name="Add a job").click()
    page.get_by_label("Title").fill("Replace a primary chain")
    page.get_by_label("Timing marks", exact=True).check()
    page.get_by_label("Percent for Timing marks").fill("60")
    page.get_by_label("Demo inline four (invented)").check()
    page.get_by_role("button", name="Keep").click()


@pytest.fixture
def mia(browser, server, visits):
    visitor = visits(browser, server)
    visitor.sign_in("mia")
    return visitor


def test_from_a_job_to_who_is_ready_why_not_cover_and_files(mia):
    page = mia.page
    add_job(page)
    page.get_by_role("link", name="Who is ready").click()

    row = page.get_by_role("row", name=re.compile("Lea Invented"))
    expect(row).to_contain_text("nearly")
    expect(row).to_contain_text("Timing marks: more answers; Demo inline four (invented): sheet")

    row.get_by_role("link", name="Lea Invented").click()
    expect(page.get_by_role("article")).to_contain_text("0 answers so far, 10 are needed")
    page.get_by_label("Works on").fill("early")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("status")).to_have_text("Shift kept.")

    page.get_by_role("link", name="Cover").click()
    expect(page.get_by_role("main")).to_contain_text("too few people can be trained")
    page.get_by_label("People wanted").fill("1")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("region", name="Jobs by shifts")).to_contain_text("nobody")
    plan = page.get_by_role("row", name=re.compile("Lea Invented"))
    expect(plan).to_contain_text("Timing marks: more answers")

    page.get_by_role("link", name="Readiness").click()
    written = list(csv.reader(io.StringIO(downloaded(page, "Download as CSV").decode("utf-8-sig"))))
    assert any(cells[:2] == ["Lea Invented", "early"] for cells in written)
    book = load_workbook(io.BytesIO(downloaded(page, "Download as XLSX")))
    assert "Lea Invented" in [cell.value for cell in book["Readiness"]["A"]]

    for width in (None, PHONE):
        if width:
            page.set_viewport_size(width)
        for place in PAGES:
            mia.go(place)
            assert axe_on(page) == [], place
            assert mia.width_beyond_screen() == 0, place


def test_filters_work_without_script(browser, server, visits):
    visitor = visits(browser, server, java_script_enabled=False)
    visitor.sign_in("mia")
    page = visitor.page
    visitor.go("/shop/")
    if page.get_by_text("No job yet").count():
        add_job(page)
        visitor.go("/shop/")

    page.get_by_label("Name holds").fill("tom")
    page.get_by_label("State of one or more").select_option("nearly")
    page.get_by_role("button", name="Show").click()

    names = page.get_by_role("region", name="People by jobs").get_by_role("link").all_inner_texts()
    assert names == ["Tom Invented"]


def test_the_matrix_prints_without_its_controls(mia):
    mia.go("/shop/")
    if mia.page.get_by_text("No job yet").count():
        add_job(mia.page)
        mia.go("/shop/")

    mia.page.emulate_media(media="print")

    assert not mia.page.get_by_role("link", name="Download as CSV").is_visible()
    assert not mia.page.get_by_label("Name holds").is_visible()
    assert mia.page.get_by_role("row", name=re.compile("Lea Invented")).is_visible()


def test_a_learner_reads_the_sheet_their_job_asks_for(browser, server, visits, mia):
    mia.go("/shop/")
    if mia.page.get_by_text("No job yet").count():
        add_job(mia.page)
    tom = visits(browser, server)
    tom.sign_in("tom")
    tom.page.get_by_role("link", name="My record").click()
    tom.page.get_by_role("article").get_by_role("link", name=re.compile("Read the sheet")).click()
    tom.page.get_by_role("button", name="I have read revision 1").click()

    expect(tom.page.get_by_role("status")).to_have_text("Noted that you read it.")
    expect(tom.page.get_by_role("article")).not_to_contain_text("has not been read")
