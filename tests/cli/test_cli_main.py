"""The `quizsvc` command itself: every subcommand can be reached, errors become one line."""

import click
import pytest
from click.testing import CliRunner

from quizsvc.cli.main import COMMANDS, quizsvc
from quizsvc.errors import InputError


def test_the_help_names_every_command_with_what_it_does():
    result = CliRunner().invoke(quizsvc, ["--help"])

    assert result.exit_code == 0
    for name, (_, _, about) in COMMANDS.items():
        assert name in result.output
        assert about in result.output


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_can_be_loaded_and_explains_itself(name):
    result = CliRunner().invoke(quizsvc, [name, "--help"])

    assert result.exit_code == 0
    assert "Usage:" in result.output


@pytest.mark.parametrize("group", ["items", "sheet"])
def test_every_subcommand_says_what_it_does(group):
    command = quizsvc.get_command(click.Context(quizsvc), group)

    assert all(sub.help for sub in command.commands.values())


def test_an_unknown_command_is_a_usage_error():
    result = CliRunner().invoke(quizsvc, ["no-such"])

    assert result.exit_code == 2
    assert "No such command" in result.output


def test_an_error_of_ours_becomes_one_line_and_exit_code_one(monkeypatch):
    @click.command()
    def failing():
        raise InputError("is too long.", field="rod_mm", value=900, remedy="Measure again.")

    monkeypatch.setattr(quizsvc, "get_command", lambda ctx, name: failing)  # noqa: ARG005

    result = CliRunner().invoke(quizsvc, ["failing"])

    assert result.exit_code == 1
    assert result.output == "Error: rod_mm = 900: is too long. Measure again.\n"


def test_the_version_is_told():
    assert "0.1.0" in CliRunner().invoke(quizsvc, ["--version"]).output
