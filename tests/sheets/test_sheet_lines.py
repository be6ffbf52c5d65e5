"""Finding the line of a value in a TOML text, held against a plain reading of the text."""

import tomllib

import pytest
from valid_sheets import SHIPPED, shipped_text

from quizsvc.sheets.lines import line_of


def leaves(content, place=()):
    if isinstance(content, dict):
        for key, value in content.items():
            yield from leaves(value, (*place, key))
    elif isinstance(content, list) and content and isinstance(content[0], dict):
        for index, member in enumerate(content):
            yield from leaves(member, (*place, index))
    else:
        yield place, content


@pytest.mark.parametrize("name", SHIPPED)
def test_every_value_of_a_shipped_sheet_is_found_on_a_line_that_names_it(name):
    text = shipped_text(name)
    lines = text.splitlines()
    found = [(place, line_of(text, place)) for place, _ in leaves(tomllib.loads(text))]

    assert len(found) > 150
    for place, line in found:
        assert place[-1] in lines[line - 1]


def test_list_members_are_told_apart():
    text = (
        "[[drives]]\npins = 1\n[[drives.wheels]]\nx = 1\n[[drives.wheels]]\nx = 2\n"
        "[[drives]]\n[[drives.wheels]]\nx = 3\n"
    )

    assert line_of(text, ("drives", 0, "wheels", 1, "x")) == 6
    assert line_of(text, ("drives", 1, "wheels", 0, "x")) == 9


def test_a_value_that_is_not_there_points_to_its_table():
    assert line_of("id = 1\n[piston]\nbore = 2\n", ("piston", "rod")) == 2


def test_nothing_of_the_place_in_the_text_gives_no_line():
    assert line_of("id = 1\n", ("piston", "rod")) == 0
