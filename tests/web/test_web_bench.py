"""The bench's pages: without script, and what its script is told."""

import re

import pytest
from sqlalchemy import text

BENCH = "/bench/demo-inline-four"
ENGINES = ("demo-inline-four", "demo-inline-three", "demo-vee-six", "demo-vee-eight")


def words_on(page):
    return re.findall(r"<li>([^<]+)</li>", page.split("data-words", 1)[1].split("</ul>", 1)[0])


def test_the_engines_are_listed_and_lead_to_their_benches(lea):
    page = lea.get("/bench/").text

    for name in ENGINES:
        assert f'href="/bench/{name}"' in page
    assert 'aria-current="page">Bench' in page


def test_a_house_without_engines_says_so(lea, house):
    with house.write() as connection:
        connection.execute(text("UPDATE sheet_revision SET state = 'withdrawn'"))

    assert "No engine to put on the bench" in lea.get("/bench/").text


@pytest.mark.parametrize("name", ENGINES)
def test_a_bench_opens_in_the_marks_position_with_its_cautions(lea, name):
    page = lea.get(f"/bench/{name}").text

    assert "marks are in line with their pointers" in page
    assert page.count("Caution") == 2
    assert "Interference engine" in page
    assert "maker’s service information" in page
    assert 'style="' not in page


def test_without_script_a_button_turns_the_crank(lea):
    turned = lea.get(f"{BENCH}?crank=100&do=turn:10")

    assert turned.status_code == 302
    page = lea.get(turned.headers["Location"]).text
    assert words_on(page)[0].startswith("Crankshaft at 110°")


def test_every_button_of_the_form_leads_to_a_state(lea):
    page = lea.get(f"{BENCH}?crank=90").text
    deeds = re.findall(r'name="do" value="([^"]+)"', page)

    assert len(deeds) >= 9
    for deed in deeds:
        answer = lea.get(f"{BENCH}?crank=90&to=95&do={deed}")
        assert answer.status_code == (422 if deed == "refit" else 302), deed


def test_a_state_is_kept_in_the_form_for_the_next_step(lea):
    page = lea.get(
        "/bench/demo-vee-six?crank=60&slip=primary:1&slip=secondary-a:-1&cylinder=4"
    ).text

    assert page.count('name="slip" value="primary:1"') == 5
    assert page.count('name="slip" value="secondary-a:-1"') == 5
    assert page.count('name="cylinder" value="4"') == 4
    assert "1 tooth late (retarded), 20° of crank" in page


def test_a_slip_leads_to_a_contact_named_in_words(lea):
    slipped = lea.get(f"{BENCH}?crank=90&chain=timing&do=slip:2").headers["Location"]

    stopped = lea.get(f"{slipped}&do=turn:200").headers["Location"]

    page = lea.get(stopped).text
    assert "bench__contact--on" in page
    assert words_on(page)[0] == (
        "Contact: the exhaust valve of cylinder 2 meets its piston at 164.9° of the crankshaft."
    )


def test_a_chain_is_taken_off_and_refitted_in_whole_teeth(lea):
    off = lea.get(f"{BENCH}?crank=90&do=take-off").headers["Location"]
    turned = lea.get(f"{off}&do=turn:22").headers["Location"]
    assert "is off: Intake camshaft and Exhaust camshaft stand still" in lea.get(turned).text

    page = lea.get(lea.get(f"{turned}&do=refit").headers["Location"]).text

    assert "1 tooth late (retarded)" in page
    assert "stand still" not in page


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("crank=nan", "not a number"),
        ("crank=1e9", "not a number"),
        ("crank=1000000000", "further than the bench turns"),
        ("crank=99999", "not turned as far"),
        ("crank=ninety", "not a number"),
        ("do=to&to=", "nothing was put in"),
        ("do=to&to=far", "not a number"),
        ("do=turn:inf", "not a number"),
        ("do=jump", "cannot do that"),
        ("slip=timing", "a chain and a number belong here"),
        ("slip=timing:x", "not a number"),
        ("slip=timing:1.5", "no whole number"),
        ("slip=timing:999", "slips so many teeth"),
        ("slip=none:1", "no such chain"),
        ("off=timing:nan", "not a number"),
        ("off=none:1", "no such chain"),
        ("cylinder=99", "no such cylinder"),
        ("cylinder=x", "not a number"),
        ("chain=none", "no such chain"),
        ("chain=none&do=slip:1", "no such chain"),
        ("crank=172&do=slip:2", "driven into its piston"),
        ("do=refit", "no chain is off"),
        ("off=timing:90&do=take-off", "is off"),
    ],
)
def test_what_cannot_be_is_refused_in_words_on_the_page_and_to_the_script(lea, query, says):
    page = lea.get(f"{BENCH}?{query}")
    told = lea.get(f"{BENCH}/state?{query}")

    assert page.status_code == told.status_code == 422
    assert says in page.text.split("data-refusal", 1)[1].split("</div>", 1)[0].lower()
    assert says in told.json["refused"]["problem"]
    assert told.json["refused"]["remedy"]


def test_an_unknown_engine_is_not_found(lea):
    for address in ("/bench/none", "/bench/none/state", "/bench/none/motion"):
        assert lea.get(address).status_code == 404


def test_the_script_is_told_the_state_in_the_same_words_as_the_page(lea):
    query = "crank=123.4&slip=timing:1"

    told = lea.get(f"{BENCH}/state?{query}").json

    assert told["words"] == words_on(lea.get(f"{BENCH}?{query}").text)
    assert told["turned_deg"] == 123.4
    assert told["setting"] == {"slip": ["timing:1"]}
    assert told["reached"] == ""


def test_the_motion_is_whole_numbers_over_the_whole_cycle(lea):
    answer = lea.get("/bench/demo-vee-eight/motion?slip=bank-a:2")
    table = answer.json

    assert answer.mimetype == "application/json"
    assert len(answer.data) < 400_000
    assert table["step_deg"] == 1.0
    for column in table["columns"].values():
        assert len(column) == 720
        assert all(isinstance(value, int) for value in column)
    assert {chain["off"] for chain in table["chains"].values()} == {False}
    assert table["contacts"]
    assert set(table["advances_deg"]) == {
        "turn:primary/primary-intermediate",
        "turn:bank-a/intermediate-a",
        "turn:bank-b/intermediate-b",
    }


def test_the_bench_is_drawn_for_the_eye_and_said_for_the_ear(lea):
    page = lea.get(BENCH).text

    assert page.count('aria-hidden="true" focusable="false"') >= 4
    assert 'role="status"' in page
    assert 'for="bench-slider"' in page


def test_the_bench_of_a_belt_engine_speaks_of_belt_and_pulleys(lea):
    page = lea.get("/bench/demo-inline-three").text
    told = page.split("</svg>")[-1].casefold()

    assert 'data-way="belt"' in page
    assert "seen from the belt end" in told
    assert "crankshaft pulley" in told
    assert "a line on the belt" in told
    assert "sprocket" not in told
    assert "coloured links" not in told
