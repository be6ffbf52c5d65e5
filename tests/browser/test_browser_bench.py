"""The timing bench in a browser: by drag, slider, keys and words; without script; on a phone."""

from __future__ import annotations

import os
import re
from io import BytesIO
from math import cos, radians, sin
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import expect

FOUR, SIX, EIGHT, THREE = (
    f"/bench/demo-{name}" for name in ("inline-four", "vee-six", "vee-eight", "inline-three")
)
FOLDER = Path(__file__).parents[2] / "media" / "screenshots"
KEPT = os.environ.get("QUIZSVC_SCREENSHOTS") == "1"
SMALLEST_TARGET = 24  # CSS pixels
POSES = """
() => [...document.querySelectorAll("[data-bench] [data-way]")]
  .map((one) => one.getAttribute("transform")
    ?? [...one.children].map((drawn) => drawn.getAttribute("d")).join(" "))
"""
FRAMES = """
() => new Promise((done) => {
  const slider = document.querySelector("[data-slider]");
  const times = [];
  const step = (now) => {
    times.push(now);
    slider.value = (3 * times.length) % 720;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    if (times.length < 121) requestAnimationFrame(step);
    else done(times[times.length - 1] - times[0]);
  };
  requestAnimationFrame(step);
})
"""


@pytest.fixture
def at_bench(at_desk):
    return opened(at_desk)


def opened(visitor):
    visitor.sign_in()

    def at(path):
        visitor.go(path)
        expect(visitor.page.locator(".bench--live")).to_be_visible()
        return visitor.page

    visitor.bench = at
    return visitor


def angle(page):
    return page.locator('[data-show="angle"]')


def test_keys_turn_the_crank_and_the_state_is_read_out(at_bench):
    page = at_bench.bench(FOUR)
    page.get_by_label("Crank angle in degrees").focus()

    for key in ("ArrowRight", "ArrowRight", "PageUp", "Shift+ArrowUp", "ArrowLeft"):
        page.keyboard.press(key)

    expect(angle(page)).to_have_text("21°")
    expect(page.locator("[data-live]")).to_contain_text("Crankshaft at 21°")
    expect(page.locator("[data-words]")).to_contain_text("Strokes by cylinder")
    slider = page.get_by_label("Crank angle in degrees")
    expect(slider).to_have_attribute("aria-valuetext", "21 degrees")


def test_the_script_moves_every_part_to_where_the_server_draws_it(at_bench):
    for path in (FOUR, SIX, EIGHT, THREE):
        page = at_bench.bench(path)
        page.get_by_label("Turn to").fill("123.4")
        page.get_by_role("button", name="Go").click()
        expect(page.locator("[data-words]")).to_contain_text("123.4°")
        moved = page.evaluate(POSES)

        drawn = at_bench.page.context.request.get(page.url).text()
        page.set_content(re.sub("<script[^>]*></script>", "", drawn))

        apart = [numbers_apart(*pair) for pair in zip(moved, page.evaluate(POSES), strict=True)]
        assert max(apart) < 0.11, path
        at_bench.complaints.clear()  # a page set from text has no style sheets


def numbers_apart(one, other):
    def numbers(text):
        return [float(part) for part in "".join(c if c in "-.0123456789" else " " for c in text)
                .split()]  # fmt: skip

    pairs = list(zip(numbers(one), numbers(other), strict=True))
    if one.startswith("rotate") or " rotate" in one:
        return max(min(abs(a - b), abs(abs(a - b) - 360)) for a, b in pairs)
    return max(abs(a - b) for a, b in pairs)


def test_dragging_the_crank_sprocket_turns_it(at_bench):
    page = at_bench.bench(FOUR)
    handle = page.locator(".bench__handle[data-x]").first
    box = handle.bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    reach = box["width"] * 0.35

    def at(deg):
        turned = radians(deg)
        return middle[0] + reach * sin(turned), middle[1] - reach * cos(turned)

    page.mouse.move(*at(0))
    page.mouse.down()
    for deg in range(0, 91, 10):
        page.mouse.move(*at(deg))
    page.mouse.up()

    expect(page.locator("[data-live]")).to_contain_text("Crankshaft at")
    turned = float(angle(page).inner_text().rstrip("°"))
    assert 80 < turned < 100
    page.mouse.move(*at(180))
    assert float(angle(page).inner_text().rstrip("°")) == turned


def test_the_slider_turns_the_crank(at_bench):
    page = at_bench.bench(SIX)

    page.get_by_label("Crank angle in degrees").fill("400")

    expect(angle(page)).to_have_text("400°")


def test_a_slip_leads_to_a_contact_that_is_ringed_named_and_stops_the_crank(at_bench):
    page = at_bench.bench(f"{FOUR}?crank=90")
    for reached in ("1 tooth late (retarded)", "2 teeth late (retarded)"):
        page.get_by_role("button", name="1 tooth later").click()
        expect(page.get_by_text(reached).first).to_be_visible()

    for _ in range(12):
        page.get_by_role("button", name="Turn by +10°").click()

    expect(angle(page)).to_have_text("164.9°")
    contact = page.locator("[data-contact]")
    expect(contact).to_have_text(
        "Contact: the exhaust valve of cylinder 2 meets its piston at 164.9° of the crankshaft."
    )
    expect(page.locator("[data-live]")).to_contain_text("Contact: the exhaust valve of cylinder 2")
    rings = page.locator(".bench__row [data-shown-if]:not([display])")
    assert rings.evaluate_all("all => all.map(one => one.dataset.shownIf)") == ["contact:2:exhaust"]

    page.get_by_role("button", name="Turn by −10°").click()
    expect(contact).to_be_hidden()


def test_a_chain_is_taken_off_and_refitted_out_of_time(at_bench):
    page = at_bench.bench(f"{FOUR}?crank=90")
    page.get_by_role("button", name="Take off").click()
    expect(page.get_by_role("button", name="Refit")).to_be_visible()
    expect(page.locator('[data-way="chain"]')).to_have_attribute("display", "none")
    before = page.locator('[data-column="lift:2:exhaust"]').first.get_attribute("transform")

    for _ in range(2):
        page.get_by_role("button", name="Turn by +10°").click()
    expect(angle(page)).to_have_text("110°")
    still = page.locator('[data-column="lift:2:exhaust"]').first.get_attribute("transform")
    assert still == before
    page.get_by_role("button", name="Refit").click()

    expect(page.get_by_text("1 tooth late (retarded)").first).to_be_visible()
    expect(page.locator('[data-way="chain"]')).not_to_have_attribute("display", "none")
    assert "slip=timing%3A1" in page.url


def test_a_belt_runs_tooth_by_tooth_and_turns_its_rollers_backwards(at_bench):
    page = at_bench.bench(THREE)
    belt = page.locator('[data-way="belt"]')
    teeth = belt.locator("path").nth(2)
    before = teeth.get_attribute("d")

    page.get_by_role("button", name="10°").last.click()
    expect(teeth).not_to_have_attribute("d", before)

    assert teeth.get_attribute("d").count("M") == before.count("M") == 137
    crank, pump = (
        float(re.search(r"rotate\(([-\d.]+)", where.get_attribute("transform"))[1])
        for where in (
            page.locator(f'[data-column="turn:timing/{wheel}"]').first
            for wheel in ("crank-pulley", "pump-pulley")
        )
    )
    assert crank % 360 == pytest.approx(10)
    assert 345 < pump % 360 < 352  # 160 mm of belt a turn, 170 mm round the pump: 9.4° back
    expect(page.locator("[data-words]")).to_contain_text("pulley marks come in line at 660°")

    page.get_by_role("button", name="Take off").click()

    expect(belt).to_have_attribute("display", "none")
    expect(page.locator("[data-words]")).to_contain_text("Timing belt is off")


def test_what_is_refused_is_said_and_nothing_moves(at_bench):
    page = at_bench.bench(FOUR)

    page.get_by_label("Turn to").fill("far")
    page.get_by_label("Turn to").press("Enter")

    expect(page.get_by_role("alert")).to_contain_text("not a number")
    expect(angle(page)).to_have_text("0°")
    at_bench.forget_refusals()


def test_frames_a_second_while_everything_moves(at_bench):
    page = at_bench.bench(EIGHT)

    spent = page.context.new_cdp_session(page)
    spent.send("Performance.enable")

    before = metrics_of(spent)
    milliseconds = page.evaluate(FRAMES)
    after = metrics_of(spent)

    each = {name: 1000 * (after[name] - before[name]) / 120 for name in after}
    print(  # noqa: T201 - a figure to read, not a judgement: other work shares the machine
        f"\nbench of the V8, every frame 3° on: {120_000 / milliseconds:.0f} frames/s without a "
        f"graphics card; a frame takes {each['ScriptDuration']:.1f} ms of script, "
        f"{each['LayoutDuration'] + each['RecalcStyleDuration']:.1f} ms of layout and style, "
        f"{each['TaskDuration']:.1f} ms in all on the main thread"
    )
    expect(angle(page)).to_have_text("363°")


def metrics_of(session):
    wanted = {"ScriptDuration", "LayoutDuration", "RecalcStyleDuration", "TaskDuration"}
    found = session.send("Performance.getMetrics")["metrics"]
    return {one["name"]: one["value"] for one in found if one["name"] in wanted}


def test_without_script_the_same_buttons_turn_slip_and_name_the_contact(without_script):
    page = without_script.page
    without_script.sign_in()
    without_script.go(f"{FOUR}?crank=90")

    for _ in range(2):
        page.get_by_role("button", name="1 tooth later").click()
    page.get_by_label("Turn to").fill("200")
    page.get_by_role("button", name="Go").click()

    expect(page.locator("[data-contact]")).to_contain_text("exhaust valve of cylinder 2 meets")
    expect(angle(page)).to_have_text("164.9°")
    page.get_by_label("Show cylinder").select_option("2")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_text("Cylinder 2, drawn")).to_be_visible()


@pytest.mark.parametrize(
    "path", ["/bench/", FOUR, f"{FOUR}?crank=164.9&slip=timing:2", EIGHT, THREE]
)
def test_the_bench_has_no_violation_and_fits_a_phone(on_phone, path):
    on_phone.sign_in()
    on_phone.go(path)
    page = on_phone.page
    if path != "/bench/":
        expect(page.locator(".bench--live")).to_be_visible()

    found = Axe().run(page).response

    assert len(found["passes"]) > 5
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    assert on_phone.width_beyond_screen() == 0
    sizes = page.locator("[data-bench] button").evaluate_all(
        "all => all.filter(one => one.checkVisibility())"
        ".map(one => one.getBoundingClientRect()).map(box => Math.min(box.width, box.height))"
    )
    assert all(size >= SMALLEST_TARGET for size in sizes)


def test_on_a_phone_drive_pistons_and_controls_are_in_sight_together(on_phone):
    page = opened(on_phone).bench(SIX)
    page.evaluate("document.querySelector('.bench').scrollIntoView()")

    high = page.viewport_size["height"]
    for part in (".bench__drive", ".bench__row", ".bench__crank"):
        box = page.locator(part).bounding_box()
        assert box["y"] >= -1, part
        assert box["y"] + box["height"] <= high + 1, part


def test_an_item_that_sets_the_bench_takes_the_state_reached(at_bench):
    page = at_bench.page
    take_bench_item(at_bench, "Pistons and crank")

    page.get_by_role("button", name="Turn by +10°").click()

    expect(page.locator("[data-live]")).to_contain_text("Crankshaft at")
    expect(page.locator("#answer")).to_have_value(angle(page).inner_text().rstrip("°"))
    page.get_by_role("button", name="Answer").click()
    page.wait_for_url("**/outcome*")


def take_bench_item(visitor, topic):
    for _ in range(80):
        visitor.go("/practise/")
        visitor.page.get_by_role("button", name=f"Practise {topic}").click()
        if visitor.page.locator("[data-bench]").count():
            expect(visitor.page.locator(".bench--live")).to_be_visible()
            return
    raise AssertionError(f"no item of {topic} sets the bench")


@pytest.mark.parametrize(("size", "high"), [(1280, 800), (390, 844)])
def test_pictures_for_the_readme(browser, server, visits, size, high):
    visitor = visits(browser, server, viewport={"width": size, "height": high})
    visitor.sign_in()
    visitor.go(f"{FOUR}?crank=164.9&slip=timing:2&cylinder=2")
    expect(visitor.page.locator(".bench--live")).to_be_visible()
    expect(visitor.page.locator("[data-contact]")).to_contain_text("cylinder 2")

    picture = Image.open(BytesIO(visitor.page.screenshot()))

    assert len(set(picture.convert("L").resize((40, 40)).tobytes())) > 3, "an empty page"
    if KEPT:
        FOLDER.mkdir(parents=True, exist_ok=True)
        few_colours = picture.convert("RGB").quantize(256)  # a drawing needs no more
        few_colours.save(FOLDER / f"bench-{size}.png", optimize=True)
