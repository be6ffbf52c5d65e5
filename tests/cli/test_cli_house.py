"""`quizsvc database`, `bank load`, `demo` and `serve`, as a person runs them."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from threading import Event
from time import monotonic

import pytest
from click.testing import CliRunner

from quizsvc.cli.main import quizsvc
from quizsvc.config import HOME, settings_from
from quizsvc.rules.actors import Role
from quizsvc.services import accounts, practise
from quizsvc.services.house import House

SAFETY = HOME / "question_banks" / "safety-before-work.toml"


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("QUIZSVC_INSTANCE", str(tmp_path))
    monkeypatch.delenv("DATABASE_URL", raising=False)
    return lambda *words: CliRunner().invoke(quizsvc, [str(word) for word in words])


def test_a_new_database_is_made_and_says_so(run, tmp_path):
    result = run("database", "upgrade")

    assert (result.exit_code, result.output) == (0, "The database is up to date.\n")
    assert (tmp_path / "quizsvc.sqlite3").exists()
    assert run("database", "upgrade").exit_code == 0


def test_without_a_database_loading_a_bank_says_what_to_do(run):
    result = run("bank", "load", SAFETY)

    assert result.exit_code == 1
    assert "Run `quizsvc database upgrade`." in result.output


def test_a_bank_is_loaded_once(run):
    run("database", "upgrade")

    first, second = run("bank", "load", SAFETY), run("bank", "load", SAFETY)

    assert re.fullmatch(r"Safety before work: \d+ new, 0 changed, 0 as before\.\n", first.output)
    assert re.fullmatch(r"Safety before work: 0 new, 0 changed, \d+ as before\.\n", second.output)


def test_a_folder_of_banks_is_loaded_whole(run):
    run("database", "upgrade")

    result = run("bank", "load", HOME / "question_banks")

    assert result.exit_code == 0
    assert len(result.output.splitlines()) == len(list((HOME / "question_banks").glob("*.toml")))


def test_a_bank_that_is_not_there_is_named(run):
    run("database", "upgrade")

    result = run("bank", "load", "no-such.toml")

    assert result.exit_code == 1
    assert "no-such.toml" in result.output
    assert "Traceback" not in result.output


def test_the_demo_prints_a_sign_in_for_every_role_and_keeps_it(run):
    first = run("demo", "--no-serve", "--people", 1)
    second = run("demo", "--no-serve")

    assert first.exit_code == second.exit_code == 0
    assert "Three months of practice: 1 of 1" in first.output
    for role in ("learner", "instructor", "manager", "administrator"):
        assert re.search(rf"^  {role} +[a-z0-9.]+ +\S", first.output, re.MULTILINE)
    told = re.search(r"^Sign in at.*", first.output, re.MULTILINE | re.DOTALL)[0]
    assert told in second.output
    assert "kept as it was" in second.output


NEW_SHOP = ("shop", "add", "Invented Garage", "--manager", "Mia Invented", "--sign-in", "mia")
WORDS = "several words in a row"


def test_a_first_shop_is_made_with_its_manager_and_listed(run):
    run("database", "upgrade")

    made = run(*NEW_SHOP, "--password", WORDS)

    assert made.output == "Invented Garage is made; Mia Invented signs in as mia.\n"
    assert run("shop", "list").output == "Invented Garage\n"


def test_the_manager_of_a_stocked_shop_can_sign_in_and_practise(run):
    run("database", "upgrade")
    run(*NEW_SHOP, "--password", WORDS, "--stock")
    house = House.open(settings_from())
    now = datetime.now(UTC)

    token = accounts.sign_in(house, "mia", WORDS, now=now, source="192.0.2.1")
    mia = accounts.actor_for_token(house, token, now=now)

    assert mia.roles == {Role.MANAGER, Role.ADMINISTRATOR}
    assert practise.put_next(house, mia, now=now)
    house.close()


@pytest.mark.parametrize("password", ["short", "x" * 201])
def test_a_shop_with_a_poor_password_is_not_made(run, password):
    run("database", "upgrade")

    refused = run(*NEW_SHOP, "--password", password)

    assert refused.exit_code == 1
    assert "from 10 to 200 characters" in refused.output
    assert run("shop", "list").output == ""


def test_a_second_shop_of_the_same_name_is_refused_whole(run):
    run("database", "upgrade")
    run(*NEW_SHOP, "--password", WORDS)

    refused = run(*NEW_SHOP[:-1], "other", "--password", WORDS)

    assert refused.exit_code == 1
    assert "there is a shop of this name" in refused.output


@pytest.mark.parametrize(
    "words",
    [
        ("demo", "--people", "0"),
        ("demo", "--people", "many"),
        ("serve", "--port", "0"),
        ("serve", "--workers", "0"),
    ],
)
def test_an_impossible_option_is_refused_by_name(run, words):
    result = run(*words)

    assert result.exit_code == 2
    assert words[1] in result.output


def test_serving_without_a_database_says_what_to_do(run):
    result = run("serve", "--port", 8499)

    assert result.exit_code == 1
    assert "Run `quizsvc database upgrade`." in result.output


def test_serving_on_a_taken_port_says_so(run):
    run("database", "upgrade")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()

        result = run("serve", "--port", taken.getsockname()[1])

    assert result.exit_code == 1
    assert "cannot be listened on" in result.output
    assert "--port" in result.output


@contextmanager
def served(port: int):
    """Run the server as a process of its own until the block ends."""
    process = subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-m", "quizsvc", "serve", "--port", str(port), "--workers", "1"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,  # so that its workers go with it
    )
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def first_page(port: int, process: subprocess.Popen[str]) -> tuple[int, str]:
    """Return status and text of the first page, asked for until the server listens."""
    until = monotonic() + 30
    while process.poll() is None and monotonic() < until:
        with (
            suppress(urllib.error.URLError),
            urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in") as page,
        ):
            return page.status, page.read().decode()
        Event().wait(0.1)
    raise AssertionError("the server never listened")


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def test_the_server_answers_on_its_address_and_stops_when_told(run):
    run("database", "upgrade")
    port = free_port()

    with served(port) as process:
        status, text = first_page(port, process)
        process.send_signal(signal.SIGTERM)
        said, _ = process.communicate(timeout=30)

    assert status == 200
    assert "Sign in" in text
    assert process.returncode == 0, said


def test_the_secret_is_changed_in_its_file_and_not_printed(run, tmp_path):
    run("database", "upgrade")
    before = (tmp_path / "secret.key").read_text().strip()

    result = run("secret", "change")

    after = (tmp_path / "secret.key").read_text().strip()
    assert result.exit_code == 0, result.output
    assert "0 keys are sealed anew" in result.output
    assert len(after) == 64
    assert after != before
    assert after not in result.output
    assert run("doctor").exit_code == 0


def test_a_stated_secret_is_changed_by_a_stated_one(run, monkeypatch):
    monkeypatch.setenv("QUIZSVC_SECRET_KEY", "the secret this invented place has")
    run("database", "upgrade")

    result = run("secret", "change")
    assert result.exit_code == 2
    assert "QUIZSVC_NEW_SECRET_KEY" in result.output

    monkeypatch.setenv("QUIZSVC_NEW_SECRET_KEY", "the secret it is to have from now on")
    assert "before the next start" in run("secret", "change").output
