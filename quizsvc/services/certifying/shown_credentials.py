"""Verify a credential that somebody shows."""

from __future__ import annotations

import json
from datetime import datetime
from hashlib import sha256

from quizsvc.errors import InputError
from quizsvc.interchange.credentials.tokens import key_id_of
from quizsvc.interchange.credentials.verify import (
    Check,
    Verdict,
    read_published_keys,
    verify_credential,
)
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.services.auditing import note
from quizsvc.services.certifying.issue_credentials import published_keys, status_list
from quizsvc.services.house import House
from quizsvc.store import people


def check_file(
    house: House, text: str, *, holder: str = "", actor: Actor | None = None, now: datetime
) -> Verdict:
    """Verify a credential that somebody shows against this installation's keys and lists.

    A refusal is noted in the audit log under the file's hash, whoever it was shown by.

    Raises:
        InputError: the text is no credential at all.
    """
    digest = sha256(text.strip().encode()).hexdigest()
    try:
        verdict = _verdict(house, text, holder, now)
    except InputError as refused:
        _note_refusal(house, actor, digest, refused.problem, now)
        raise
    if not verdict.valid:
        failed = next(check.says for check in verdict.checks if check.holds is not True)
        _note_refusal(house, actor, digest, failed, now)
    return verdict


def _verdict(house: House, text: str, holder: str, now: datetime) -> Verdict:
    shop_id = _issuer_named(house, text)
    keys = read_published_keys(json.dumps(published_keys(house, shop_id)))
    listed = json.dumps(status_list(house, shop_id, now=now))
    verdict = verify_credential(text, keys, now=now, status_list=listed)
    if not holder.strip():
        return verdict
    return Verdict((*verdict.checks, holder_check(verdict, holder)), verdict.credential)


def holder_check(verdict: Verdict, holder: str) -> Check:
    """Return whether the credential is that of the person who shows it, by name."""
    said = holder_of(verdict)
    if " ".join(said.split()).casefold() == " ".join(holder.split()).casefold():
        return Check("holder", holds=True, says="It was issued to this person.")
    return Check("holder", holds=False, says="It was issued to somebody else.")


def holder_of(verdict: Verdict) -> str:
    """Return the name a credential was issued to; empty where it names nobody."""
    subject = verdict.credential.get("credentialSubject")
    found = subject.get("identifier") if isinstance(subject, dict) else None
    first = found[0] if isinstance(found, list) and found else None
    return str(first.get("identityHash", "")) if isinstance(first, dict) else ""


def _issuer_named(house: House, text: str) -> int:
    """Return the shop that a credential names as its issuer; nothing is believed by that."""
    base = f"{house.settings.public_url}/issuers/"
    with house.read() as connection:
        shops = [shop.id for shop in people.all_shops(connection)]
    for shop_id in shops:
        if f"{base}{shop_id}" in _claims(text):
            return shop_id
    raise InputError(
        "it names no issuer of this server.",
        field="issuer",
        value="another",
        remedy="Verify it where it was issued, or with `quizsvc credential verify` and its keys.",
    )


def _claims(text: str) -> frozenset[str]:
    """Return the key ids' issuers and the issuer that a text claims."""
    text = text.strip()
    if not text.startswith("{"):
        return frozenset({key_id_of(text).partition("#")[0]})
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        raise InputError(
            "this is no credential.", field="credential", remedy="Choose the file as downloaded."
        ) from None
    issuer = data.get("issuer") if isinstance(data, dict) else None
    return frozenset({str(issuer.get("id") if isinstance(issuer, dict) else issuer)})


def _note_refusal(
    house: House, actor: Actor | None, digest: str, problem: str, now: datetime
) -> None:
    with house.write() as connection:
        note(
            connection,
            actor,
            Action.CREDENTIAL_REFUSED,
            f"file {digest}",
            now=now,
            problem=problem,
        )
