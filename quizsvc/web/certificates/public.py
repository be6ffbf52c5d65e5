"""What anybody may ask without signing in: does a certificate stand, and the published keys."""

from __future__ import annotations

import json
from typing import Any

from flask import render_template, request
from werkzeug.wrappers import Response

from quizsvc.errors import InputError
from quizsvc.interchange.credentials.verify import LARGEST_FILE, Verdict
from quizsvc.services.certifying import issue_credentials, public_pages, shown_credentials
from quizsvc.web.access import actor_or_none
from quizsvc.web.certificates.place import verifying
from quizsvc.web.current import house, now
from quizsvc.web.limits import limiter

CHECKS_A_MINUTE = "30 per minute"


@verifying.get("/verify")
def ask() -> str:
    return _verify_page()


@verifying.post("/verify")
@limiter.limit(CHECKS_A_MINUTE)
def check() -> tuple[str, int]:
    try:
        return _verify_page(_checked()), 200
    except InputError as refusal:
        return _verify_page(refusal=refusal), 422


@verifying.get("/verify/<token>")
def certificate(token: str) -> str:
    page = public_pages.public_page(house(), token, now=now())
    return render_template("certificates/public.html", page=page, at=now())


@verifying.get("/issuers/<int:shop_id>")
def issuer(shop_id: int) -> Response:
    return _json(issue_credentials.published_keys(house(), shop_id), "application/json")


@verifying.get("/issuers/<int:shop_id>/status-list")
def status_list(shop_id: int) -> Response:
    return _json(issue_credentials.status_list(house(), shop_id, now=now()), "application/vc")


@verifying.get("/issuers/<int:shop_id>/schemes/<int:scheme_id>/versions/<int:version>")
def achievement(shop_id: int, scheme_id: int, version: int) -> str:
    page = public_pages.public_scheme(house(), shop_id, scheme_id, version)
    return render_template("certificates/public_scheme.html", page=page)


def _verify_page(verdict: Verdict | None = None, refusal: InputError | None = None) -> str:
    return render_template(
        "certificates/verify.html",
        verdict=verdict,
        refusal=refusal,
        holder=shown_credentials.holder_of(verdict) if verdict else "",
    )


def _checked() -> Verdict:
    file = request.files.get("file")
    content = file.stream.read(LARGEST_FILE + 1) if file and file.filename else b""
    text = content.decode("utf-8", "replace") or request.form.get("text", "")
    if not text.strip():
        raise InputError(
            "there is nothing to verify.",
            field="credential",
            value="",
            remedy="Choose the file, or put its text into the field.",
        )
    holder = request.form.get("holder", "")
    return shown_credentials.check_file(
        house(), text, holder=holder, actor=actor_or_none(), now=now()
    )


def _json(document: dict[str, Any], media_type: str) -> Response:
    """Answer with a document that pages elsewhere may fetch as well: it is public."""
    text = json.dumps(document, ensure_ascii=False, indent=2)
    return Response(text, mimetype=media_type, headers={"Access-Control-Allow-Origin": "*"})
