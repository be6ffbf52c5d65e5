"""Settings, read from the environment once at the edge; secrets live in the instance folder."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from quizsvc.errors import InputError

SECRET_BYTES = 32
_TREE = Path(__file__).resolve().parent.parent
# The repository when run from one, else the folder the command is given in.
HOME = _TREE if (_TREE / "pyproject.toml").is_file() else Path.cwd()


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything one installation may differ in.

    ``public_url`` is the address people use; ``https`` in it turns on secure cookies.
    """

    instance: Path
    database_url: str
    secret_key: str = field(repr=False)
    public_url: str = "http://127.0.0.1:8484"
    media: Path = HOME / "media"
    question_banks: Path = HOME / "question_banks"
    session_hours: int = 12
    reports_database_url: str = ""  # a copy PostgreSQL keeps up to date, for reports only
    threads: int = 3  # pages worked on at the same moment in each process
    idle_minutes: int = 120  # how long a session may lie unused
    trusted_proxies: int = 0  # how many reverse proxies stand in front and set X-Forwarded-For
    metrics_token: str = field(default="", repr=False)  # without it /metrics does not exist
    page_of_components: bool = False  # shows /components, for people who work on the look

    @property
    def cookie_secure(self) -> bool:
        return urlsplit(self.public_url).scheme == "https"

    @property
    def host(self) -> str:
        """The host (and port) of the public address, for the host check."""
        return urlsplit(self.public_url).netloc


def settings_from(environ: Mapping[str, str] | None = None) -> Settings:
    """Return the settings the environment states; creates the instance folder and secret key.

    Raises:
        InputError: a variable holds something unusable; names it, its value and the remedy.
    """
    env = os.environ if environ is None else environ
    instance = Path(env.get("QUIZSVC_INSTANCE", str(HOME / "instance"))).resolve()
    instance.mkdir(parents=True, exist_ok=True)
    return Settings(
        instance=instance,
        database_url=_database_url(env.get("DATABASE_URL", ""), instance),
        reports_database_url=_reports_url(env),
        secret_key=env.get("QUIZSVC_SECRET_KEY") or _kept_secret(instance / "secret.key"),
        public_url=_public_url(env.get("QUIZSVC_PUBLIC_URL", "http://127.0.0.1:8484")),
        media=Path(env.get("QUIZSVC_MEDIA", str(HOME / "media"))).resolve(),
        question_banks=Path(
            env.get("QUIZSVC_QUESTION_BANKS", str(HOME / "question_banks"))
        ).resolve(),
        session_hours=_whole(env, "QUIZSVC_SESSION_HOURS", 12, 1, 24 * 90),
        idle_minutes=_whole(env, "QUIZSVC_IDLE_MINUTES", 120, 10, 60 * 24 * 90),
        threads=_whole(env, "QUIZSVC_THREADS", 3, 1, 128),
        trusted_proxies=_whole(env, "QUIZSVC_TRUSTED_PROXIES", 0, 0, 5),
        metrics_token=env.get("QUIZSVC_METRICS_TOKEN", ""),
        page_of_components=env.get("QUIZSVC_COMPONENTS", "") == "1",
    )


def _database_url(stated: str, instance: Path) -> str:
    if not stated:
        return f"sqlite:///{instance / 'quizsvc.sqlite3'}"
    if stated.startswith("sqlite:////"):
        return stated
    if address := _server_url(stated):
        return address
    raise InputError(
        "this database is not supported.",
        field="DATABASE_URL",
        value=stated.split("://", maxsplit=1)[0] + "://…",  # the rest may hold a password
        remedy="Use postgresql://user@host/name, or sqlite:////absolute/path, or leave it unset.",
    )


def _reports_url(env: Mapping[str, str]) -> str:
    """Return the address of the copy for reports, "" for none."""
    stated = env.get("QUIZSVC_REPORTS_DATABASE_URL", "")
    if not stated:
        return ""
    if (address := _server_url(stated)) and _server_url(env.get("DATABASE_URL", "")):
        return address
    raise InputError(
        "a copy for reports is one that PostgreSQL keeps of the database in DATABASE_URL.",
        field="QUIZSVC_REPORTS_DATABASE_URL",
        value=stated.split("://", maxsplit=1)[0] + "://…",
        remedy="Use postgresql://user@host/name for both, or leave it unset.",
    )


def _server_url(stated: str) -> str:
    """Return the address with the driver we use, "" for what is no PostgreSQL."""
    scheme, _, rest = stated.partition("://")
    known = scheme in {"postgres", "postgresql", "postgresql+psycopg"}
    return f"postgresql+psycopg://{rest}" if known else ""


def _public_url(stated: str) -> str:
    parts = urlsplit(stated)
    if parts.scheme not in {"http", "https"} or not parts.netloc or parts.path.strip("/"):
        raise InputError(
            "the public address must be http or https with a host and no path.",
            field="QUIZSVC_PUBLIC_URL",
            value=stated,
            remedy="For example https://quiz.example.org.",
        )
    return f"{parts.scheme}://{parts.netloc}"


def _whole(env: Mapping[str, str], name: str, default: int, low: int, high: int) -> int:
    text = env.get(name, str(default))
    if not text.isascii() or not text.isdigit() or not low <= int(text) <= high:
        raise InputError(
            "not a whole number in range.",
            field=name,
            value=text,
            remedy=f"Give a number from {low} to {high}.",
        )
    return int(text)


def _kept_secret(path: Path) -> str:
    """Return the secret in the file, made on first use; of two processes at once one wins."""
    if not path.exists():
        draft = path.with_name(f"{path.name}.{os.getpid()}")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_hex(SECRET_BYTES) + "\n")
        with suppress(FileExistsError):
            os.link(draft, path)  # whole or not at all, and never over another's
        draft.unlink()
    return path.read_text(encoding="ascii").strip()
