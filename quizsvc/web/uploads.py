"""Which files each form takes, by the ending of their names; what is in them is looked at later."""

from __future__ import annotations

from flask import Flask, request

from quizsvc.errors import InputError

PHOTOGRAPHS = frozenset({"jpg", "jpeg", "png"})
# By endpoint; a form that is not named here takes no file. DEVELOPERS.md tells sizes as well.
TAKEN: dict[str, frozenset[str]] = {
    "admin.report": frozenset({"csv", "zip"}),
    "admin.take_over": frozenset({"csv", "zip"}),
    "bank.check_import": frozenset({"csv", "toml", "zip"}),
    "bank.keep_picture": PHOTOGRAPHS | {"webp"},
    "certificates.hand_in": PHOTOGRAPHS | {"webp"},
    "sheets.send_file": frozenset({"toml", "txt"}),
    "teaching.read": PHOTOGRAPHS,
    "verifying.check": frozenset({"json", "jwt", "txt"}),
}

# These ask themselves, so that what was typed beside the file is shown again.
ASK_THEMSELVES = frozenset({"bank.keep_picture"})


def init_app(app: Flask) -> None:
    app.before_request(look_at_files)


def look_at_files() -> None:
    if request.endpoint not in ASK_THEMSELVES:
        refuse_other_files()


def refuse_other_files() -> None:
    """Refuse a request with a file that the form has no use for.

    Raises:
        InputError: the ending of its name is none of those the form takes, or it takes none.
    """
    taken = TAKEN.get(request.endpoint or "", frozenset())
    for field, file in request.files.items(multi=True):
        name = file.filename or ""
        if name and name.rpartition(".")[2].casefold() not in taken:
            raise InputError(
                "a file of this kind is not taken here.",
                field=field[:40],
                value=name[-60:],
                remedy=f"Send one that ends in {_listed(taken)}." if taken else "Send none.",
            )


def _listed(endings: frozenset[str]) -> str:
    return " or ".join(f".{ending}" for ending in sorted(endings))
