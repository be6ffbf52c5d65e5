"""What nobody sends who means well: values, files and addresses, from fixed seeds."""

from __future__ import annotations

import io
import random
import re
import zipfile
from functools import cache
from pathlib import Path

WEB = Path(__file__).parents[2] / "quizsvc" / "web"
MARK = "<zz\"'>"  # must come back escaped, wherever it comes back
TEXTS = (
    *("", " ", "0", "-1", "1", "2", "3", "00000000000000000001", "9" * 12, "9" * 13, "9" * 19),
    *("0" * 12 + "9" * 20, "9" * 5000, "1e309", "-1e309", "NaN", "inf", "1.5", "1,5", "−3"),
    *("١٢٣", "²", "0x1f", "1_000", "true", "null", "[]", "{}", '{"a":1}', "on", "yes"),
    *("\x00", "a\x00b", "\x1b[31m", "\u202eabc", "\ufeff", "\U0001f6e0" * 40, "é" * 3000),
    *(MARK, MARK * 50, "<script>alert(1)</script>", "{{7*7}}", "${7*7}", "%s%n", "=1+1", "@x"),
    *(
        "' OR 1=1 --",
        '"; DROP TABLE person; --',
        "../../etc/passwd",
        "..\\..\\x",
        "/",
        "//x.example",
    ),
    *("https://x.example/", "javascript:alert(1)", "a" * 200, "x" * 20_000, "\r\nSet-Cookie: a=b"),
    *("2026-02-30", "2026-03-02T14:30", "9999-12-31T23:59", "0001-01-01T00:00+23:59", "24:00"),
    *("9999-12-31T23:59-23:59", "2026-W10-1", "20260302", "demo-inline-four", "ours", "1/chain"),
    *("safety", "learner", "administrator", "homework", "timed test", "bank:workshop/order"),
)
NUMBERS = (0, 1, 2, 3, 7, 99, 2**31 - 1, 2**31, 2**63 - 1, 2**63, 2**64, 10**30)
WORDS = (
    "x",
    "0",
    "1" * 32,
    "f" * 32,
    "ours",
    "demo-inline-four",
    "é",
    "a b",
    "..",
    "%00",
    "a" * 300,
)
NAME = re.compile(r"""(?:get|getlist|fields\[|form\[)\(?\s*["']([a-z][a-z0-9_-]{1,30})["']""")


@cache
def names_read_in(place: str) -> tuple[str, ...]:
    """Return the names of fields that the views and forms of a blueprint read."""
    folder = WEB / place
    sources = sorted(folder.glob("*.py")) if folder.is_dir() else []
    found = {name for path in sources for name in NAME.findall(path.read_text())}
    return tuple(sorted(found | {"page", "do"}))


def text(chance: random.Random) -> str:
    return chance.choice(TEXTS)


def value_for(chance: random.Random, *, whole: bool) -> object:
    """Return something to stand in an address."""
    return chance.choice(NUMBERS if whole else WORDS)


def file(chance: random.Random) -> tuple[io.BytesIO, str]:
    """Return a file to upload: of a kind that is taken, spoiled, or of none."""
    content, name = chance.choice(_files())
    if content and chance.random() < 0.3:
        content = content[: chance.randrange(len(content))]
    return io.BytesIO(content), name


@cache
def _files() -> tuple[tuple[bytes, str], ...]:
    bank = (WEB.parents[1] / "tests" / "web" / "bank-of-every-kind.toml").read_bytes()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("imsmanifest.xml", "<manifest/>")
        packed.writestr("../outside.xml", "<x/>")
    lines = "name,sign_in_name,role\nÉ,e,learner\n"
    return (
        (b"", "empty"),
        (b"\x00\xff" * 50, "noise.bin"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 40, "broken.png"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x'/>", "drawing.svg"),
        (b"GIF89a" + b"\x01" * 30, "old.gif"),
        (bank, "bank.toml"),
        (bank[:400], "../../bank.toml"),
        (out.getvalue(), "package.zip"),
        (lines.encode(), "people.csv"),
        (lines.encode("utf-16"), "people.csv"),
        (b'{"@context": [], "type": "x"}', "credential.json"),
        (b"a.b.c", "credential.jwt"),
        (b"[" * 3000, "deep.toml"),
    )
