"""What every template and style sheet keeps to."""

import re
from pathlib import Path

import pytest

import quizsvc.web

WEB = Path(quizsvc.web.__file__).parent
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
SHEETS = sorted((WEB / "static" / "css").glob("*.css"))
SCRIPTS = sorted((WEB / "static" / "js").glob("*.js"))


def named(path):
    return path.relative_to(WEB).as_posix()


@pytest.mark.parametrize("path", TEMPLATES, ids=named)
def test_a_template_is_short_and_holds_no_inline_style_or_script(path):
    text = path.read_text(encoding="utf-8")

    assert len(text.splitlines()) < 60
    assert not re.search(r"\sstyle=|\son[a-z]+=|javascript:|\|\s*safe", text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)


def test_every_form_that_changes_something_carries_the_token():
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        for form in re.findall(r'<form[^>]*method="post".*?</form>', text, re.DOTALL):
            assert re.search(r"csrf", form), path


def test_style_sheets_and_scripts_fetch_nothing_from_elsewhere():
    for path in [*SHEETS, *SCRIPTS, *TEMPLATES]:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"https?://|[^_]url\(|@import", text), path


def test_every_style_sheet_is_on_every_page():
    listed = (WEB / "templates" / "_styles.html").read_text(encoding="utf-8")

    for sheet in SHEETS:
        assert f'"{sheet.stem}"' in listed or f"css/{sheet.name}" in listed, sheet


def test_motion_is_left_out_for_those_who_ask_for_less():
    for sheet in SHEETS:
        text = sheet.read_text(encoding="utf-8")
        for found in re.finditer(r"transition:|animation:", text):
            before = text[: found.start()]
            asked = before.rfind("prefers-reduced-motion: no-preference")
            assert asked > before.rfind("\n}\n"), sheet


def test_every_colour_stands_in_the_tokens():
    for sheet in SHEETS:
        if sheet.stem not in {"tokens", "inks", "print"}:
            text = sheet.read_text(encoding="utf-8")
            assert not re.search(r"#[0-9a-fA-F]{3,8}\b|rgb|hsl", text), sheet
