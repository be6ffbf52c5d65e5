"""Certificates: their list and pages, files to keep, and what the shop does to them."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import InputError
from quizsvc.rules.certificate_life import CertificateDeed
from quizsvc.rules.permissions import May, allows
from quizsvc.services.certifying import certificate_pages, revoking
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now


@certificates.get("/issued")
@login_required
def issued() -> str:
    lines = certificate_pages.listed(house(), actor(), now=now())
    may_keys = allows(actor(), May.KEEP_KEYS)
    return render_template("certificates/issued.html", lines=lines, may_keys=may_keys)


@certificates.get("/issued/<token>")
@login_required
def certificate(token: str) -> str:
    page = certificate_pages.look(house(), actor(), token, now=now())
    return render_template("certificates/certificate.html", page=page, token=token)


@certificates.post("/issued/<token>/deed")
@login_required
def do(token: str) -> Response:
    deed = _deed(request.form.get("deed", ""))
    revoking.do(house(), actor(), token, deed, request.form.get("reason", ""), now=now())
    flash(f"The certificate is {deed.value}.")
    return redirect(url_for("certificates.certificate", token=token))


@certificates.get("/issued/<token>/certificate.pdf")
@login_required
def certificate_pdf(token: str) -> Response:
    content = certificate_pages.pdf(house(), actor(), token, now=now())
    return _file(content, "application/pdf", f"certificate-{token[:8]}.pdf")


@certificates.get("/issued/<token>/credential.json")
@login_required
def credential_json(token: str) -> Response:
    text = certificate_pages.credential_file(house(), actor(), token, signed_token=False, now=now())
    return _file(text.encode(), "application/vc", f"credential-{token[:8]}.json")


@certificates.get("/issued/<token>/credential.jwt")
@login_required
def credential_token(token: str) -> Response:
    text = certificate_pages.credential_file(house(), actor(), token, signed_token=True, now=now())
    return _file(text.encode(), "application/vc+jwt", f"credential-{token[:8]}.jwt")


def _file(content: bytes, media_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, mimetype=media_type, headers=headers)


def _deed(text: str) -> CertificateDeed:
    try:
        return CertificateDeed(text)
    except ValueError:
        raise InputError(
            "there is nothing of that name to do.",
            field="deed",
            value=text[:20],
            remedy="Use the buttons on the certificate's page.",
        ) from None
