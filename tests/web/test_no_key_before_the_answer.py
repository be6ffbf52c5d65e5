"""Nothing that tells the key reaches the browser before the answer is in."""

import re

import pytest

from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions

TELLTALE = "telltale"  # stands in every rationale, rule and step of the test bank
ITEMS = [
    "Which hand turns",
    "Which two are tools",
    "A bolt takes",
    "Put the work in order.",
    "Match each part",
    "Where is the larger wheel",
]


def everything_said_by(client, address):
    """Return all bytes of the routes one can ask for while an item is open, headers included."""
    token_path = address.split("?")[0]
    routes = [address, token_path, f"{token_path}/outcome", f"{token_path}/picture"]
    said = []
    for route in [*routes, "/practise/", "/practise/history"]:
        with client.get(route) as answer:
            said.append(f"{answer.headers}{answer.get_data(as_text=False)!r}")
    bad = client.answer(address, {"number": "x", "place": "x", "choice": "x"})
    return "\n".join([*said, str(bad.headers), bad.text])


@pytest.mark.parametrize("words", ITEMS)
def test_a_planted_word_shows_only_after_the_answer(lea, words):
    address = lea.put_written(words)

    assert TELLTALE not in everything_said_by(lea, address)


def test_items_of_families_tell_no_misconception_rule_or_seed(lea, house):
    ideas = all_misconceptions().values()
    house.seeds = iter(range(7_654_321_000, 7_654_322_000)).__next__
    for number in range(40):
        address = lea.put_next(topic=("cycle", "piston", "marks", "valves")[number % 4])
        page = lea.get(address).text

        assert "765432" not in page
        for idea in ideas:
            assert idea.id not in page
            assert idea.title not in page
        assert not re.search(r"correct|misconception|seed|tolerance", page)


def test_every_option_is_shown_alike(lea):
    page = lea.get(lea.put_written("Which hand turns")).text

    rows = re.findall(r"<li>\s*<label.*?</li>", page, re.DOTALL)
    shapes = {re.sub(r'value="\d"|>[A-D]<|text">[^<]*<| id="answer"', "", row) for row in rows}
    assert len(rows) == 4
    assert len(shapes) == 1


def test_families_are_named_nowhere_on_the_page_of_an_item(lea):
    page = lea.get(lea.put_next(topic="cycle")).text

    assert not [family for family in all_families() if family in page]
