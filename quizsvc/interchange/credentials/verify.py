"""Verify a credential: a valid signature alone is not enough.

Looked at in turn: is it one of ours in form, does the key it names belong to the issuer it
names, might that key sign then, does the signature hold, is it within its dates, is it revoked.
Works without a connection on published keys and a saved status list.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from quizsvc.errors import InputError
from quizsvc.interchange.credentials import tokens
from quizsvc.interchange.credentials.badge import CONTEXTS
from quizsvc.interchange.credentials.keys import PublishedKey, decode_public
from quizsvc.interchange.credentials.moments import read_moment
from quizsvc.interchange.credentials.proof import proof_holds, proofs_of
from quizsvc.interchange.credentials.status_list import decode_status_list, is_set

LARGEST_FILE = 1_000_000  # bytes


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at: what, whether it holds (None: could not be looked at), why."""

    what: str
    holds: bool | None
    says: str


@dataclass(frozen=True, slots=True)
class Verdict:
    checks: tuple[Check, ...]
    credential: Mapping[str, Any]

    @property
    def valid(self) -> bool:
        """Return True only where everything was looked at and holds."""
        return all(check.holds is True for check in self.checks)


def read_published_keys(text: str) -> tuple[PublishedKey, ...]:
    """Read the issuer's published key document (a W3C controlled identifier document)."""
    document = _json_object(text, "keys")
    controller = document.get("id")
    methods = document.get("verificationMethod")
    if not isinstance(controller, str) or not isinstance(methods, list):
        raise InputError("this is no document of published keys.", field="keys")
    return tuple(_published(method, controller) for method in methods)


def _published(method: Any, controller: str) -> PublishedKey:
    if not isinstance(method, dict) or method.get("controller") != controller:
        raise InputError("a key belongs to somebody else.", field="verificationMethod")

    def moment(name: str) -> datetime | None:
        return read_moment(method[name], name) if method.get(name) else None

    return PublishedKey(
        id=str(method.get("id")),
        controller=controller,
        public=decode_public(str(method.get("publicKeyMultibase"))),
        valid_from=read_moment(method.get("validFrom"), "validFrom"),
        valid_until=moment("expires"),
        revoked=moment("revoked"),
    )


def verify_credential(
    text: str,
    keys: tuple[PublishedKey, ...],
    *,
    now: datetime,
    status_list: str | None = None,
) -> Verdict:
    """Look at a credential file (a token, or JSON with a proof).

    ``status_list`` is the status list credential as the issuer publishes it, signed like this
    one; without it the last check stays open and the verdict is not valid.

    Raises:
        InputError: the text is no credential at all.
    """
    document, signed = _open(text, keys)
    checks = [_form(document), signed]
    checks += _dates(document, now)
    checks.append(_status(document, keys, status_list, now))
    return Verdict(tuple(checks), document)


def _open(text: str, keys: tuple[PublishedKey, ...]) -> tuple[dict[str, Any], Check]:
    if len(text) > LARGEST_FILE:
        raise InputError("the file is too large.", field="credential", value=len(text))
    text = text.strip()
    if not text.startswith("{"):
        return _open_token(text, keys)
    document = _json_object(text, "credential")
    return document, _proof_check(document, keys)


def _open_token(token: str, keys: tuple[PublishedKey, ...]) -> tuple[dict[str, Any], Check]:
    key = _find(keys, tokens.key_id_of(token))
    if key is None:
        return {}, Check("signature", holds=False, says="It names no key of this issuer.")
    try:
        document = tokens.read_token(token, key)
    except InputError as error:
        return {}, Check("signature", holds=False, says=error.problem)
    return document, _key_check(document, key)


def _proof_check(document: dict[str, Any], keys: tuple[PublishedKey, ...]) -> Check:
    says = "It carries no proof."
    for proof in proofs_of(document):
        named = proof.get("verificationMethod") if isinstance(proof, dict) else None
        key = _find(keys, named)
        if key is None:
            says = "It names no key of this issuer."
            continue
        if proof_holds(document, proof, key):
            return _key_check(document, key)
        says = "The signature does not fit: it was changed after signing, or is forged."
    return Check("signature", holds=False, says=says)


def _key_check(document: Mapping[str, Any], key: PublishedKey) -> Check:
    issuer = document.get("issuer")
    name = issuer.get("id") if isinstance(issuer, dict) else issuer
    if name != key.controller:
        return Check("signature", holds=False, says="The key belongs to another issuer.")
    if key.revoked is not None:
        return Check("signature", holds=False, says="The key was withdrawn by its issuer.")
    if not key.might_sign_at(read_moment(document.get("validFrom"), "validFrom")):
        return Check("signature", holds=False, says="The key was not in use at that date.")
    return Check("signature", holds=True, says="Signed by the issuer, unchanged since.")


def _form(document: Mapping[str, Any]) -> Check:
    contexts, types = document.get("@context"), document.get("type")
    ordered = isinstance(contexts, list) and contexts[:1] == CONTEXTS[:1]
    if ordered and isinstance(types, list) and "VerifiableCredential" in types:
        return Check("form", holds=True, says="A verifiable credential.")
    return Check("form", holds=False, says="Not in the form of a verifiable credential.")


def _dates(document: Mapping[str, Any], now: datetime) -> list[Check]:
    try:
        start = read_moment(document.get("validFrom"), "validFrom")
        end = document.get("validUntil")
        if now < start:
            return [Check("dates", holds=False, says=f"Not valid before {start:%d %B %Y}.")]
        if end is not None and now > read_moment(end, "validUntil"):
            ended = read_moment(end, "validUntil")
            return [Check("dates", holds=False, says=f"Expired on {ended:%d %B %Y}.")]
    except InputError as error:
        return [Check("dates", holds=False, says=str(error))]
    return [Check("dates", holds=True, says="Within its dates.")]


def _status(
    document: Mapping[str, Any],
    keys: tuple[PublishedKey, ...],
    status_list: str | None,
    now: datetime,
) -> Check:
    if status_list is None:
        return Check("status", holds=None, says="Revocation was not looked at: no status list.")
    try:
        revoked = _revoked(document.get("credentialStatus"), keys, status_list, now)
    except (InputError, KeyError, TypeError, ValueError) as error:
        return Check("status", holds=False, says=str(error))
    if revoked:
        return Check("status", holds=False, says="Revoked by the issuer.")
    return Check("status", holds=True, says="Not revoked.")


def _revoked(entry: Any, keys: tuple[PublishedKey, ...], status_list: str, now: datetime) -> bool:
    if not isinstance(entry, dict):
        raise InputError("It does not say where its revocation would be published.")
    listed, signed = _open(status_list, keys)
    subject = listed.get("credentialSubject")
    if signed.holds is not True or not isinstance(subject, dict):
        raise InputError("The status list is not this issuer's.")
    if listed.get("id") != entry.get("statusListCredential"):
        raise InputError("The status list is another one than the credential names.")
    if any(check.holds is not True for check in _dates(listed, now)):
        raise InputError("The status list is out of date.")
    return is_set(decode_status_list(subject.get("encodedList")), int(entry["statusListIndex"]))


def _find(keys: tuple[PublishedKey, ...], key_id: Any) -> PublishedKey | None:
    return next((key for key in keys if key.id == key_id), None)


def _json_object(text: str, field: str) -> dict[str, Any]:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError("this is no JSON.", field=field) from error
    if not isinstance(document, dict):
        raise InputError("this is no JSON object.", field=field)
    return document
