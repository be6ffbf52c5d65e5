"""Items that set the bench: the page, its addresses, and that the state reached is marked."""

import re

import pytest


@pytest.fixture
def bench_item(lea):
    """Return a way to the address of an item whose bench asks for this."""

    def take(topic, saying):
        for _ in range(120):
            address = lea.put_next(topic=topic)
            page = lea.get(address).text
            if "data-bench" in page and saying in page:
                return address
        raise AssertionError(f"no bench item of {topic} says {saying!r}")

    return take


def token_of(address):
    return re.search(r"/items/([0-9a-f]{32})", address)[1]


def with_query(address, query):
    return f"{address}{'&' if '?' in address else '?'}{query}"


def reached(page):
    return re.search(r'name="number"[^>]*value="([^"]*)"', page, re.DOTALL)[1]


def test_turning_the_bench_of_an_item_fills_in_the_angle_reached(lea, bench_item):
    address = bench_item("piston", "Turn the crankshaft")
    assert reached(lea.get(address).text) == ""

    page = lea.get(with_query(address, "do=to:33")).text

    assert reached(page) == "33"
    assert 'name="crank" value="' in page


def test_the_right_place_reached_on_the_bench_is_marked_right(lea, bench_item):
    address = bench_item("piston", "Turn the crankshaft")
    prompt = lea.get(address).text
    spacing = {"inline four": 90, "vee six": 60, "vee eight": 45}
    engine = next(name for name in spacing if name in prompt)

    page = lea.get(with_query(address, f"crank=20&do=to:{spacing[engine] + 2}")).text
    outcome = lea.answer(address, {"number": reached(page)}).headers["Location"]

    assert "Right" in re.search(r"<title>([^<]+)", lea.get(outcome).text)[1]


def test_a_chain_moved_back_by_the_teeth_it_is_off_is_marked_right(lea, bench_item):
    address = bench_item("marks", "must be 0 teeth off")
    page = lea.get(address).text
    token = token_of(address)
    firsts = lea.get(f"/bench/items/{token}/motion").json
    rights = [
        moved
        for moved in range(-3, 4)
        if lea.get(f"/bench/items/{token}/motion?moved={moved}").json["columns"]
        == in_time(lea, firsts["sheet"])
    ]
    assert len(rights) == 1

    page = lea.get(with_query(address, f"moved={rights[0]}")).text
    chosen = re.search(r'<option value="(-?\d)" selected', page)[1]
    outcome = lea.answer(address, {"ahead": chosen}).headers["Location"]

    assert int(chosen) == -rights[0]
    assert "Right" in re.search(r"<title>([^<]+)", lea.get(outcome).text)[1]


def in_time(lea, sheet):
    return lea.get(f"/bench/{sheet}/motion").json["columns"]


def test_the_page_of_a_refit_never_says_how_the_chain_stands(lea, bench_item):
    address = bench_item("marks", "must be 0 teeth off")
    page = lea.get(address).text.split("data-bench", 1)[1]
    told = lea.get(f"/bench/items/{token_of(address)}/state").json

    for said in (page.split("</section>", 1)[0], " ".join(told["words"]), str(told["chains"])):
        assert not re.search(r"\b(late|early) \(|in time|in line", said)
    assert told["setting"] == {}
    assert told["reached"] == ""


def test_the_page_of_a_turn_reads_out_no_piston_and_no_valve(lea, bench_item):
    address = bench_item("piston", "Turn the crankshaft")
    bench = lea.get(address).text.split("data-bench", 1)[1].split("</section>", 1)[0]

    assert "data-read" not in bench
    assert not re.search("Shallowest|Open valves|Strokes by", bench)
    assert "1 tooth later" not in bench


def test_what_the_bench_of_an_item_cannot_do_is_said_on_its_page(lea, bench_item):
    address = bench_item("piston", "Turn the crankshaft")

    page = lea.get(with_query(address, "do=to&to=far")).text

    assert "not a number" in page.split("data-refusal", 1)[1].split("</div>", 1)[0]


def test_anothers_item_and_an_item_without_a_bench_have_no_bench(lea, app, bench_item):
    token = token_of(bench_item("piston", "Turn the crankshaft"))
    without = token_of(lea.put_written("Which hand turns the crank"))
    tom = app.test_client()
    tom.sign_in("tom")

    for part in ("state", "motion"):
        assert tom.get(f"/bench/items/{token}/{part}").status_code == 404
        assert lea.get(f"/bench/items/{without}/{part}").status_code == 404
