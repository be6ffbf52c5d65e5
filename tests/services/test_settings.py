"""Settings come from the environment once; secrets stay in the instance folder."""

from __future__ import annotations

import stat

import pytest

from quizsvc.config import settings_from
from quizsvc.errors import ConflictError, InputError
from quizsvc.services.occupancy import occupied, to_itself


@pytest.fixture
def env(tmp_path):
    return {"QUIZSVC_INSTANCE": str(tmp_path / "instance")}


def test_nothing_stated_means_a_sqlite_file_in_the_instance_folder(env, tmp_path):
    settings = settings_from(env)

    assert settings.database_url == f"sqlite:///{tmp_path}/instance/quizsvc.sqlite3"
    assert settings.public_url == "http://127.0.0.1:8484"
    assert not settings.cookie_secure
    assert settings.question_banks.name == "question_banks"


def test_the_secret_key_is_made_once_kept_and_readable_by_the_owner_only(env):
    first, second = settings_from(env), settings_from(env)
    file = first.instance / "secret.key"

    assert first.secret_key == second.secret_key
    assert len(first.secret_key) == 64
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert [path.name for path in first.instance.iterdir()] == ["secret.key"]


def test_the_secret_key_never_shows_when_settings_are_printed(env):
    settings = settings_from(env)

    assert settings.secret_key not in repr(settings)


@pytest.mark.parametrize(
    ("stated", "used"),
    [
        ("postgresql://quiz@db/quiz", "postgresql+psycopg://quiz@db/quiz"),
        ("postgres://quiz@db/quiz", "postgresql+psycopg://quiz@db/quiz"),
        ("postgresql+psycopg://quiz@db/quiz", "postgresql+psycopg://quiz@db/quiz"),
        ("sqlite:////var/lib/quiz.db", "sqlite:////var/lib/quiz.db"),
    ],
)
def test_the_database_is_named_by_its_address(env, stated, used):
    assert settings_from(env | {"DATABASE_URL": stated}).database_url == used


def test_an_unsupported_database_is_refused_without_repeating_its_password(env):
    with pytest.raises(InputError) as refused:
        settings_from(env | {"DATABASE_URL": "mysql://quiz:hunter2@db/quiz"})

    assert refused.value.field == "DATABASE_URL"
    assert "hunter2" not in str(refused.value)


def test_https_in_the_public_address_makes_cookies_secure(env):
    settings = settings_from(env | {"QUIZSVC_PUBLIC_URL": "https://quiz.example.org/"})

    assert settings.cookie_secure
    assert settings.public_url == "https://quiz.example.org"
    assert settings.host == "quiz.example.org"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("QUIZSVC_PUBLIC_URL", "quiz.example.org"),
        ("QUIZSVC_PUBLIC_URL", "ftp://quiz.example.org"),
        ("QUIZSVC_PUBLIC_URL", "https://quiz.example.org/under/path"),
        ("QUIZSVC_SESSION_HOURS", "0"),
        ("QUIZSVC_SESSION_HOURS", "twelve"),
        ("QUIZSVC_SESSION_HOURS", "٣"),
        ("QUIZSVC_TRUSTED_PROXIES", "-1"),
    ],
)
def test_an_unusable_setting_is_refused_by_name_value_and_remedy(env, name, value):
    with pytest.raises(InputError) as refused:
        settings_from(env | {name: value})

    assert (refused.value.field, refused.value.value) == (name, value)
    assert refused.value.remedy


def test_nobody_swaps_a_database_away_under_a_running_server(tmp_path):
    def swap() -> str:
        with to_itself(tmp_path):
            return "swapped"

    # Two servers on one instance are fine.
    with (
        occupied(tmp_path),
        occupied(tmp_path),
        pytest.raises(ConflictError, match="a server is running"),
    ):
        swap()

    assert swap() == "swapped"
