"""`quizsvc sheet`: what a trainer sees in the terminal, and the exit code a script reads."""

import json

import pytest
from click.testing import CliRunner, Result
from valid_sheets import BELT_THREE, INLINE_FOUR, SHIPPED, shipped, shipped_text

from quizsvc.cli.main import quizsvc


def run(*words: object) -> Result:
    return CliRunner().invoke(quizsvc, [str(word) for word in words])


@pytest.fixture
def file(tmp_path):
    """Return a function that writes an edited text of the inline four and gives its path."""

    def written(old: str = "", new: str = "", text: str | None = None):
        content = text if text is not None else shipped_text()
        assert old in content
        path = tmp_path / "engine.toml"
        path.write_text(content.replace(old, new, 1) if old else content, encoding="utf-8")
        return path

    return written


@pytest.mark.parametrize("name", SHIPPED)
def test_checking_a_shipped_sheet_reports_figures_and_no_finding(name):
    result = run("sheet", "check", name)

    assert result.exit_code == 0
    assert f"{name} revision 1: no errors, no warnings." in result.output
    wear = "teeth in mesh" if name == BELT_THREE else "lag at wear limit"
    for quantity in ("safe position", "least gap to piston", "slip tolerance", wear):
        assert quantity in result.output


def test_a_file_is_checked_like_a_shipped_sheet(file):
    assert run("sheet", "check", file()).output == run("sheet", "check", INLINE_FOUR).output


def test_an_error_ends_with_exit_code_one(file):
    result = run("sheet", "check", file("atdc_deg = 90.0", "atdc_deg = 0.0"))

    assert result.exit_code == 1
    assert "error: safe_position.atdc_deg = 0.0: the safe position is 90.0°" in result.output
    assert "1 error, no warnings." in result.output


def test_a_warning_alone_ends_with_exit_code_zero(file):
    result = run("sheet", "check", file("exhaust_pocket_mm = 1.0", "exhaust_pocket_mm = 0.0"))

    assert result.exit_code == 0
    assert "warning: valves.exhaust_pocket_mm = 0.0" in result.output
    assert "no errors, 1 warning." in result.output


def test_a_file_that_is_no_sheet_lists_every_fault_with_its_line(file):
    text = shipped_text().replace("bore_mm = 86.0", "bore_mm = nan", 1)
    text = text.replace("teeth = 18", 'teeth = "many"', 1)

    result = run("sheet", "check", file(text=text))

    assert result.exit_code == 1
    first, second, last = result.output.splitlines()
    assert first.startswith("error: line ")
    assert "piston.bore_mm = nan" in first
    assert "drives[1].wheels[1].teeth = 'many'" in second
    assert "2 errors; nothing was computed" in last


def test_a_syntax_error_names_line_and_column(file):
    result = run("sheet", "check", file(text="id = \n"))

    assert result.exit_code == 1
    assert "line 1, column 6" in result.output


def test_what_is_missing_is_named_without_a_value(file):
    result = run("sheet", "check", file("rod_mm = 143.0\n", ""))

    assert result.exit_code == 1
    assert "piston.rod_mm: field required. Add it." in result.output


def test_a_repeated_cylinder_is_said_in_one_line(file):
    result = run("sheet", "check", file("[1, 3, 4, 2]", "[1, 3, 4, 4, 2]"))

    assert result.exit_code == 1
    assert "cylinder 4 is repeated. Name every cylinder once." in result.output.splitlines()[0]


@pytest.mark.parametrize(
    "words", [("sheet", "check", "no-such.toml"), ("sheet", "show", "no-such-engine")]
)
def test_a_sheet_that_is_not_there_is_one_clear_line(words):
    result = run(*words)

    assert result.exit_code == 1
    (line,) = result.output.strip().splitlines()
    assert line.startswith("Error:")
    assert "no such" in line


def test_findings_as_json_carry_severity_field_value_message_and_remedy(file):
    result = run("sheet", "check", "--json", file("pins = 120", "pins = 119"))

    report = json.loads(result.output)
    assert result.exit_code == 1
    assert {tuple(finding) for finding in report["findings"]} == {
        ("severity", "field", "value", "message", "remedy")
    }
    assert ("error", "drives[1].pins", 119) in [
        (f["severity"], f["field"], f["value"]) for f in report["findings"]
    ]
    assert {"quantity", "of", "value", "unit", "words"} == set(report["computed"][0])


def test_json_of_an_unreadable_file_is_json_too(file):
    result = run("sheet", "check", "--json", file("bore_mm = 86.0", "bore_mm = nan"))

    (finding,) = json.loads(result.output)["findings"]
    assert result.exit_code == 1
    assert (finding["field"], finding["value"]) == ("piston.bore_mm", "nan")


def test_the_list_names_every_shipped_sheet():
    result = run("sheet", "list")

    assert result.exit_code == 0
    for name in SHIPPED:
        assert any(line.startswith(f"{name} ") for line in result.output.splitlines())


def test_showing_a_sheet_gives_its_figures_and_cautions():
    result = run("sheet", "show", INLINE_FOUR)

    assert result.exit_code == 0
    assert "firing order 1-3-4-2" in result.output
    assert "invented" in result.output.splitlines()[0]
    for caution in shipped().cautions:
        assert caution.text in result.output
