"""`quizsvc items`: families listed, items drawn, bad input answered in one line."""

import json
import math

import pytest
from click.testing import CliRunner, Result
from valid_sheets import INLINE_FOUR, SHIPPED, VEE_EIGHT, VEE_SIX, shipped_text

from quizsvc.cli.main import quizsvc
from quizsvc.items.as_json import item_json
from quizsvc.items.family import all_families, draw_item, find_family
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Kind
from quizsvc.sheets.loading import shipped_sheets

NAMES = [
    "family",
    "version",
    "topic",
    "level",
    "kind",
    "sheet",
    "revision",
    "prompt",
    "givens",
    "asked",
    "key",
    "options",
    "steps",
    "figure_alt",
    "caution",
]


def run(*words: object) -> Result:
    return CliRunner().invoke(quizsvc, [str(word) for word in words])


def drawn(*words: object) -> list[dict]:
    result = run("items", "draw", *words, "--json")
    assert result.exit_code == 0, result.output
    return [json.loads(line, parse_constant=refused) for line in result.output.splitlines()]


def refused(constant: str) -> None:
    raise AssertionError(f"{constant} is no JSON")


@pytest.fixture(scope="module")
def lines() -> list[dict]:
    """Return some items of every family on every shipped sheet."""
    return [line for sheet in SHIPPED for line in drawn("--sheet", sheet, "--count", 300)]


def test_every_line_has_exactly_the_names_of_the_contract(lines):
    for line in lines:
        assert list(line) == NAMES
        assert all(set(given) == {"value", "unit"} for given in line["givens"].values())
        assert set(line["asked"]) == {"quantity", "unit", "decimals"}
        assert set(line["key"]) <= {"value", "tolerance", "option"}
        assert all(
            set(option) == {"text", "value", "correct", "misconception"}
            for option in line["options"]
        )
        assert all(set(step) == {"text", "value", "unit"} for step in line["steps"])


def test_the_key_names_the_right_option(lines):
    chosen = [line for line in lines if line["kind"] == Kind.ONE_CHOICE]
    assert len(chosen) > 100

    for line in chosen:
        right = [i for i, option in enumerate(line["options"]) if option["correct"]]
        assert right == [line["key"]["option"]]
        shown = line["options"][right[0]]["value"]
        if isinstance(shown, float):
            assert shown == pytest.approx(line["key"]["value"])


def test_several_choices_name_all_right_options(lines):
    for line in (line for line in lines if line["kind"] == Kind.SEVERAL_CHOICES):
        right = [i for i, option in enumerate(line["options"]) if option["correct"]]
        assert line["key"]["option"] == right


def test_a_number_has_a_value_and_a_tolerance_and_no_option(lines):
    numbers = [line for line in lines if line["kind"] == Kind.NUMBER]
    assert len(numbers) > 100

    for line in numbers:
        assert math.isfinite(line["key"]["value"])
        assert line["key"]["tolerance"] >= 0
        assert "option" not in line["key"]


def test_order_and_match_carry_their_key_as_value(lines):
    kinds = {line["kind"]: line for line in lines}

    if Kind.ORDER in kinds:
        assert len(kinds[Kind.ORDER]["key"]["value"]) > 1
    if Kind.MATCH in kinds:
        assert all(len(pair) == 2 for pair in kinds[Kind.MATCH]["key"]["value"])


def test_every_wrong_option_cites_a_known_misconception(lines):
    known = set(all_misconceptions())
    for line in lines:
        for option in line["options"]:
            assert option["correct"] or option["misconception"] in known


def test_the_same_command_draws_the_same_items():
    words = ("--sheet", VEE_SIX, "--count", 40, "--seed", 7)

    assert drawn(*words) == drawn(*words)
    assert drawn(*words) != drawn("--sheet", VEE_SIX, "--count", 40, "--seed", 8)


def test_items_come_in_the_number_asked_for_turn_and_turn_about():
    lines = drawn("--sheet", VEE_EIGHT, "--family", "cylinder-angle", "--family", "piston-drop",
                  "--count", 5)  # fmt: skip

    families = [line["family"] for line in lines]
    assert families == ["cylinder-angle", "piston-drop"] * 2 + ["cylinder-angle"]


def test_a_printed_item_is_the_item_of_its_recipe():
    (line,) = drawn("--sheet", VEE_EIGHT, "--family", "cylinder-angle", "--seed", 3)
    item = draw_item(find_family("cylinder-angle"), shipped_sheets()[VEE_EIGHT], "3.0")

    assert line == json.loads(json.dumps(item_json(item)))


def test_a_file_serves_as_well_as_a_shipped_id(tmp_path):
    path = tmp_path / "engine.toml"
    path.write_text(shipped_text(), encoding="utf-8")
    rest = ("--count", 10, "--seed", 2)

    assert drawn("--sheet", path, *rest) == drawn("--sheet", INLINE_FOUR, *rest)


def test_a_sheet_that_cannot_be_right_is_said_to_be_so_beside_the_items(tmp_path):
    path = tmp_path / "engine.toml"
    path.write_text(shipped_text().replace("pins = 120", "pins = 110"), encoding="utf-8")

    result = run("items", "draw", "--sheet", path, "--family", "duration", "--json")

    assert result.exit_code == 0
    assert "has 1 error; `quizsvc sheet check` lists them" in result.stderr
    assert json.loads(result.stdout)["family"] == "duration"


def test_level_and_kind_can_be_asked_for():
    lines = drawn("--sheet", INLINE_FOUR, "--count", 30, "--level", "recall", "--kind", "number")

    assert {(line["level"], line["kind"]) for line in lines} == {("recall", "number")}


def test_in_words_an_item_shows_answer_steps_and_the_ideas_behind_wrong_options():
    result = run("items", "draw", "--sheet", INLINE_FOUR, "--family", "stroke-at-angle")

    assert result.exit_code == 0
    assert "1. [stroke-at-angle, cycle," in result.output
    assert "   Answer: " in result.output
    assert "   Step: " in result.output
    assert "   A  " in result.output


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--sheet", INLINE_FOUR, "--family", "no-such"), 1, "no such family"),
        (("--sheet", "no-such"), 1, "no such engine sheet"),
        (("--sheet", INLINE_FOUR, "--count", "0"), 2, "--count"),
        (("--sheet", INLINE_FOUR, "--count", "nan"), 2, "--count"),
        (("--sheet", INLINE_FOUR, "--seed", "nan"), 2, "--seed"),
        (("--sheet", INLINE_FOUR, "--level", "hard"), 2, "--level"),
        (("--sheet", INLINE_FOUR, "--family", "duration", "--kind", "match"), 1, "no such level"),
        ((), 2, "--sheet"),
    ],
)
def test_bad_input_is_answered_in_words(words, code, says):
    result = run("items", "draw", *words)

    assert result.exit_code == code
    assert says in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[1, 3, 4, 2]", "[1, 3, 3, 2]", "cylinder 3 is repeated"),
        ("stroke_mm = 86.0", "stroke_mm = nan", "piston.stroke_mm = nan"),
        ("stroke_mm = 86.0", 'stroke_mm = "long"', "piston.stroke_mm = 'long'"),
    ],
)
def test_a_wrong_sheet_is_refused_in_lines_that_name_the_field(tmp_path, old, new, says):
    path = tmp_path / "engine.toml"
    path.write_text(shipped_text().replace(old, new, 1), encoding="utf-8")

    result = run("items", "draw", "--sheet", path)

    assert result.exit_code == 1
    assert says in result.output
    assert "Traceback" not in result.output


def test_families_that_a_sheet_gives_nothing_to_ask_are_left_out_unless_named(monkeypatch):
    from quizsvc.cli import items as command  # noqa: PLC0415 - the module, not the command
    from quizsvc.items.family import NotForThisSheet  # noqa: PLC0415

    def draw_but_not_duration(family, sheet, seed, **wish):
        if family.id == "duration":
            raise NotForThisSheet("nothing to ask.", field="sheet", value=sheet.id)
        return draw_item(family, sheet, seed, **wish)

    monkeypatch.setattr(command, "draw_item", draw_but_not_duration)

    left = drawn("--sheet", INLINE_FOUR, "--count", len(all_families()) * 2)
    named = run("items", "draw", "--sheet", INLINE_FOUR, "--family", "duration")

    assert "duration" not in {line["family"] for line in left}
    of_chains = {f.id for f in all_families().values() if f.drive != "belt"}
    assert {line["family"] for line in left} == of_chains - {"duration"}
    assert named.exit_code == 1
    assert "nothing to ask" in named.output


def test_every_family_is_listed_with_topic_levels_kinds_and_misconceptions():
    table = run("items", "families").output

    for family in all_families().values():
        (row,) = [line for line in table.splitlines() if line.startswith(f"{family.id} ")]
        for word in (family.topic, *family.levels, *family.kinds, *family.misconceptions):
            assert word in row
    assert f"{len(all_families())} families" in table


def test_the_families_as_json_say_the_same():
    listed = [json.loads(line) for line in run("items", "families", "--json").output.splitlines()]

    assert [one["family"] for one in listed] == list(all_families())
    for one in listed:
        assert one["misconceptions"] == list(all_families()[one["family"]].misconceptions)
        assert len(one["misconceptions"]) >= 3
        assert one["drive"] == (all_families()[one["family"]].drive or "any")
