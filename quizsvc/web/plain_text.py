"""Text in requests: only what every database can hold."""

from __future__ import annotations

from itertools import chain

from flask import Flask, request

from quizsvc.errors import InputError

NUL = "\x00"  # in no text that a person types; PostgreSQL refuses it, SQLite cuts text off there


def init_app(app: Flask) -> None:
    app.before_request(refuse_nul)


def refuse_nul() -> None:
    """Refuse a request with a NUL in its address or in a field.

    Raises:
        InputError: there is one; names the field.
    """
    fields = chain(request.args.items(multi=True), request.form.items(multi=True))
    for name, text in chain([("address", request.path)], fields):
        if NUL in text or NUL in name:
            raise InputError(
                "that holds a character that is no text (NUL).",
                field=name.replace(NUL, "")[:40],
                value=text.replace(NUL, "␀")[:40],
                remedy="Type it again instead of pasting it.",
            )
