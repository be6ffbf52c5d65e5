"""The forms that pages hold, read as a browser would read them."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from lxml import html

WORDS = {"", "text", "search", "url", "email", "tel"}
BUTTONS = {"submit", "image", "button", "reset"}


@dataclass(frozen=True)
class PageForm:
    """Where a form goes, how, and what it sends if nobody touches it."""

    path: str
    query: str
    method: str
    fields: tuple[tuple[str, str], ...]
    choices: tuple[tuple[str, tuple[str, ...]], ...]  # what may be chosen, by field
    files: tuple[str, ...]
    texts: tuple[str, ...] = ()  # fields for words

    @property
    def address(self) -> str:
        return f"{self.path}?{self.query}" if self.query else self.path

    def as_sent(self) -> dict[str, list[str]]:
        sent: dict[str, list[str]] = {}
        for name, value in self.fields:
            sent.setdefault(name, []).append(value)
        sent.pop("csrf_token", None)
        return sent


def forms_in(page: str, address: str) -> list[PageForm]:
    """Return the forms of a page that was found at an address."""
    if "<form" not in page:
        return []
    tree = html.fromstring(page)
    tree.make_links_absolute(f"http://localhost{address}")
    return [_form(form, address) for form in tree.iter("form")]


def _form(form: html.FormElement, address: str) -> PageForm:
    target = urlsplit(form.get("action") or address)
    fields, choices, files = list(form.form_values()), {}, []
    for control in form.iter("input", "select", "button"):
        name = control.get("name")
        if not name:
            continue
        kind = control.get("type", "")
        if control.tag == "select":
            choices.setdefault(name, []).extend(control.value_options)
        elif kind == "file":
            files.append(name)
        elif kind in {"radio", "checkbox"} or kind in BUTTONS or control.tag == "button":
            choices.setdefault(name, []).append(control.get("value", "on"))
        if (control.tag == "button" or kind in BUTTONS) and name not in dict(fields):
            fields.append((name, control.get("value", "")))  # the first button is pressed
    kept = tuple((name, tuple(values)) for name, values in choices.items())
    method = form.get("method", "get").upper()
    texts = tuple(name for name in _texts(form) if name)
    return PageForm(target.path, target.query, method, tuple(fields), kept, tuple(files), texts)


def _texts(form: html.FormElement) -> list[str]:
    areas = [one.get("name") for one in form.iter("textarea")]
    return areas + [one.get("name") for one in form.iter("input") if one.get("type", "") in WORDS]
