"""`quizsvc bank check` and `quizsvc bank pictures` as a person calls them."""

import re

import pytest
from bank_texts import CHOICE, HEAD
from click.testing import CliRunner

from quizsvc.cli.main import quizsvc
from quizsvc.figures.stills.album import STILLS
from quizsvc.items.banks.loading import MEDIA, SHIPPED


@pytest.fixture
def call():
    return lambda *words: CliRunner().invoke(quizsvc, [str(word) for word in words])


def test_the_shipped_banks_pass(call):
    result = call("bank", "check", SHIPPED)

    assert result.exit_code == 0
    assert result.output.endswith("items, no findings.\n")


def test_a_finding_is_printed_with_file_line_and_remedy_and_the_exit_code_is_1(call, tmp_path):
    path = tmp_path / "bank.toml"
    path.write_text((HEAD + CHOICE).replace("correct = true, ", ""), encoding="utf-8")

    result = call("bank", "check", path)

    assert result.exit_code == 1
    assert f"{path}:17: key-none: belt-wet options: no option is marked right." in result.output
    assert "Set correct = true on the right one." in result.output
    assert result.output.endswith("1 bank file, 1 item, 1 finding.\n")


def test_a_path_that_is_not_there_is_one_clear_line(call, tmp_path):
    result = call("bank", "check", tmp_path / "none.toml")

    assert result.exit_code == 1
    assert "can't be read" in result.output
    assert "Traceback" not in result.output


def test_pictures_are_drawn_into_a_folder(call, tmp_path):
    result = call("bank", "pictures", "--folder", tmp_path / "media")

    assert result.exit_code == 0
    assert {path.name for path in (tmp_path / "media").iterdir()} == set(STILLS)
    assert f"{len(STILLS)} pictures" in result.output


def test_the_bank_shown_in_the_folders_readme_has_no_findings(call, tmp_path):
    _, example, _ = re.split(
        r"```(?:toml)?\n", (SHIPPED / "README.md").read_text("utf-8"), maxsplit=2
    )
    (tmp_path / "example.toml").write_text(example, encoding="utf-8")

    result = call("bank", "check", tmp_path, "--media", MEDIA)

    assert result.output == "1 bank file, 6 items, no findings.\n"
