"""Certificates: issue, show, suspend, revoke; and who holds a valid one."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.interchange.credentials.badge import Award
from quizsvc.interchange.credentials.status_list import PLACES
from quizsvc.interchange.credentials.tokens import key_id_of
from quizsvc.interchange.credentials.verify import (
    Check,
    Verdict,
    read_published_keys,
    verify_credential,
)
from quizsvc.items.topics import find_topic
from quizsvc.paper.certificate import CertificateSheet, certificate_pdf
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import (
    CertificateDeed,
    CertificateState,
    may_renew_from,
    months_after,
    possible,
    require_possible,
    require_reason,
    state_at,
)
from quizsvc.rules.permissions import May, allows, owns, require
from quizsvc.rules.schemes import SchemeTerms, VersionState, from_text
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.issue_credentials import (
    issuer_of,
    list_address,
    published_keys,
    sign,
    status_list,
)
from quizsvc.services.refusals import noted_refusals
from quizsvc.services.schemes import Held
from quizsvc.store import certificates, people, schemes
from quizsvc.store.certificates import NoteLine, StoredCertificate

TOKEN_BYTES = 16  # 128 bits
_DEEDS = {
    CertificateDeed.SUSPENDED: Action.CERTIFICATE_SUSPENDED,
    CertificateDeed.REINSTATED: Action.CERTIFICATE_REINSTATED,
    CertificateDeed.REVOKED: Action.CERTIFICATE_REVOKED,
}


@dataclass(frozen=True, slots=True)
class ValidCertificate:
    """What readiness needs to know of a certificate that is valid now."""

    person_id: int
    scheme_id: int
    version_id: int
    issued_at: datetime
    valid_until: datetime | None


@dataclass(frozen=True, slots=True)
class CertificateLine:
    token: str
    holder: str
    scheme: str
    version: int
    issued_at: datetime
    valid_until: datetime | None
    state: CertificateState
    renewable: bool


@dataclass(frozen=True, slots=True)
class CertificatePage:
    """A certificate as its holder and the shop see it."""

    line: CertificateLine
    terms: SchemeTerms
    reason: str
    history: tuple[NoteLine, ...]
    deeds: frozenset[CertificateDeed]
    address: str
    key_id: str
    is_own: bool


@dataclass(frozen=True, slots=True)
class PublicCertificate:
    """All that a stranger with the address is shown: no reason, no score, no history."""

    holder: str
    scheme: str
    scope: str
    version: int
    shop: str
    invented: bool
    issued_at: datetime
    valid_until: datetime | None
    state: CertificateState
    token: str


@dataclass(frozen=True, slots=True)
class PublicScheme:
    title: str
    version: int
    shop: str
    scope: str
    criteria: str
    terms: SchemeTerms


def valid_certificates(
    connection: Connection, shop_id: int, *, now: datetime
) -> tuple[ValidCertificate, ...]:
    """Return every certificate of a shop that is valid now; permission is the caller's matter."""
    return tuple(
        ValidCertificate(*row) for row in certificates.valid_rows(connection, shop_id, now=now)
    )


def holds_valid(connection: Connection, scheme_id: int, person_id: int, *, now: datetime) -> bool:
    """Return whether a person holds a certificate of a scheme that is valid now."""
    held = certificates.certificates_of(connection, scheme_id=scheme_id, person_id=person_id)
    return any(state_at(one.life, now) is CertificateState.VALID for one in held)


def issue(
    connection: Connection,
    house: House,
    actor: Actor,
    held: Held,
    *,
    person_id: int,
    holder_name: str,
    decision_id: int,
    now: datetime,
) -> str:
    """Issue a certificate in the transaction of its decision and return its token."""
    shop_id = held.stored.shop_id
    former = _former(connection, held, person_id)
    ends = _ends(held.terms, former, now)
    token = secrets.token_hex(TOKEN_BYTES)
    place = _free_place(certificates.places_taken(connection, shop_id))
    issuer = issuer_of(connection, house, shop_id)
    award = Award(
        credential_id=public_address(house, token),
        holder_name=holder_name,
        scheme_id=f"{issuer.id}/schemes/{held.stored.scheme_id}/versions/{held.stored.version}",
        scheme_name=held.terms.title,
        scheme_scope=held.terms.scope,
        criteria=criteria_words(held),
        issued=now,
        expires=ends,
        status_list=list_address(issuer),
        status_place=place,
    )
    signed = sign(connection, house, shop_id, award, now=now)
    certificate_id = certificates.add_certificate(
        connection,
        token=token,
        version_id=held.id,
        person_id=person_id,
        shop_id=shop_id,
        decision_id=decision_id,
        holder_name=holder_name,
        issued_at=now,
        valid_until=ends,
        status_place=place,
        key_id=signed.key_id,
        credential=json.dumps(signed.document, ensure_ascii=False),
        token_form=signed.token,
        reason="",
        renews_id=former.id if former else None,
    )
    deed = CertificateDeed.RENEWED if former else CertificateDeed.ISSUED
    certificates.add_note(
        connection, certificate_id, deed, reason="", person_id=actor.person_id, now=now
    )
    note(
        connection,
        actor,
        Action.CERTIFICATE_RENEWED if former else Action.CERTIFICATE_ISSUED,
        f"certificate {token}",
        now=now,
        person=person_id,
        decision=decision_id,
        scheme=held.stored.scheme_id,
        version=held.stored.version,
        key=signed.key_id,
        credential=sha256(signed.token.encode()).hexdigest(),
    )
    return token


def listed(house: House, actor: Actor, *, now: datetime) -> tuple[CertificateLine, ...]:
    """Return the shop's certificates, the newest first."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        found = certificates.certificates_of(connection, shop_id=actor.shop_id)
    return tuple(_line(one, now) for one in found)


def own(house: House, actor: Actor, *, now: datetime) -> tuple[CertificateLine, ...]:
    """Return the actor's own certificates, the newest first."""
    require(actor, May.SEE_OWN_RECORD)
    with house.read() as connection:
        found = certificates.certificates_of(connection, person_id=actor.person_id)
    return tuple(_line(one, now) for one in found)


def look(house: House, actor: Actor, token: str, *, now: datetime) -> CertificatePage:
    """Return a certificate: for its holder, and for instructors and managers of its shop.

    Raises:
        NotFoundError: it is another person's, or another shop's; noted in the audit log.
    """
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
        history = certificates.notes_of(connection, held.id)
    deeds = possible(held.life, now) if allows(actor, May.KEEP_CERTIFICATES) else frozenset()
    return CertificatePage(
        _line(held, now),
        from_text(held.terms),
        held.reason,
        history,
        deeds if held.shop_id == actor.shop_id else frozenset(),
        public_address(house, token),
        held.key_id,
        is_own=owns(actor, held.person_id),
    )


def credential_file(
    house: House, actor: Actor, token: str, *, signed_token: bool, now: datetime
) -> str:
    """Return the credential to keep: JSON with its proof, or the signed token."""
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
    if signed_token:
        return held.token_form
    return json.dumps(json.loads(held.credential), ensure_ascii=False, indent=2)


def pdf(house: House, actor: Actor, token: str, *, now: datetime) -> bytes:
    """Return the certificate as a sheet to print."""
    with noted_refusals(house, actor, f"certificate {token}", now=now), house.read() as connection:
        held = _find(connection, actor, token)
        issuer = issuer_of(connection, house, held.shop_id)
        invented = _is_invented(connection, held.shop_id)
    terms = from_text(held.terms)
    return certificate_pdf(
        CertificateSheet(
            holder=held.holder_name,
            scheme=held.scheme_title,
            scope=terms.scope,
            version=held.version,
            shop=issuer.name,
            issued=held.issued_at,
            valid_until=held.valid_until,
            number=token,
            address=public_address(house, token),
            topics=tuple(dict.fromkeys(find_topic(row.topic).title for row in terms.blueprint)),
            tasks=tuple(task.title for task in terms.tasks),
            invented=invented,
        )
    )


def public_page(house: House, token: str, *, now: datetime) -> PublicCertificate:
    """Return what anybody with the address may see.

    Raises:
        NotFoundError: there is no certificate of this number.
    """
    with house.read() as connection:
        held = certificates.find_certificate(connection, token)
        if held is None:
            raise NotFoundError(
                "there is no certificate of this number.",
                field="certificate",
                value=token[:40],
                remedy="Check the number, or scan the code on the certificate again.",
            )
        issuer = issuer_of(connection, house, held.shop_id)
        invented = _is_invented(connection, held.shop_id)
    return PublicCertificate(
        held.holder_name,
        held.scheme_title,
        from_text(held.terms).scope,
        held.version,
        issuer.name,
        invented,
        held.issued_at,
        held.valid_until,
        state_at(held.life, now),
        token,
    )


def public_scheme(house: House, shop_id: int, scheme_id: int, version: int) -> PublicScheme:
    """Return what a certificate's scheme asked for, as anybody may read it once published.

    Raises:
        NotFoundError: there is no such version, or it is a draft.
    """
    with house.read() as connection:
        found = next(
            (
                one
                for one in schemes.versions_of_shop(connection, shop_id)
                if (one.scheme_id, one.version) == (scheme_id, version)
                and one.state is not VersionState.DRAFT
            ),
            None,
        )
        if found is None:
            raise NotFoundError(
                "there is no such scheme.", field="scheme", value=scheme_id, remedy="Check it."
            )
        shop = issuer_of(connection, house, shop_id).name
    held = Held(found, from_text(found.terms))
    return PublicScheme(
        held.terms.title, version, shop, held.terms.scope, criteria_words(held), held.terms
    )


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


def do(
    house: House,
    actor: Actor,
    token: str,
    deed: CertificateDeed,
    reason: str,
    *,
    now: datetime,
) -> None:
    """Suspend, reinstate or revoke a certificate of the actor's shop, with a reason.

    Raises:
        ConflictError: it is not in a state for that.
        NotFoundError: it is another shop's.
    """
    with noted_refusals(house, actor, f"certificate {token}", now=now):
        require(actor, May.KEEP_CERTIFICATES)
        if deed not in _DEEDS:
            raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)
        words = require_reason(reason)
        with house.write() as connection:
            held = certificates.find_certificate(connection, token, lock=True)
            if held is None or held.shop_id != actor.shop_id:
                raise _no_such(token)
            require_possible(deed, held.life, now)
            carry_out(connection, actor, held, deed, words, now=now)


def carry_out(
    connection: Connection,
    actor: Actor,
    held: StoredCertificate,
    deed: CertificateDeed,
    reason: str,
    *,
    now: datetime,
) -> None:
    """Do it in the caller's transaction; whether it may be done was looked at before."""
    columns: dict[str, object] = {"reason": reason}
    if deed is CertificateDeed.REVOKED:
        columns["revoked_at"] = now
    else:
        columns["suspended_at"] = now if deed is CertificateDeed.SUSPENDED else None
    certificates.change_certificate(connection, held.id, **columns)
    certificates.add_note(
        connection, held.id, deed, reason=reason, person_id=actor.person_id, now=now
    )
    note(
        connection,
        actor,
        _DEEDS[deed],
        f"certificate {held.token}",
        now=now,
        reason_hash=sha256(reason.encode()).hexdigest(),
    )


def public_address(house: House, token: str) -> str:
    return f"{house.settings.public_url}/verify/{token}"


def criteria_words(held: Held) -> str:
    """Return in words what had to be shown for the certificate."""
    terms, share = held.terms, held.stored.cut_share or 0.0
    written = (
        f"Written test of {terms.counted} questions in {terms.minutes} minutes, "
        f"at least {share:.1%} of them right (version {held.stored.version} of the scheme)."
    )
    words = [written]
    words += [f"Hands-on task signed off: {task.title}." for task in terms.tasks]
    if terms.prerequisites:
        words.append(f"Prerequisites: {terms.prerequisites}")
    return " ".join(words)


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


def _find(connection: Connection, actor: Actor, token: str) -> StoredCertificate:
    held = certificates.find_certificate(connection, token)
    if held is None or not _may_see(actor, held):
        raise _no_such(token)
    return held


def _may_see(actor: Actor, held: StoredCertificate) -> bool:
    if owns(actor, held.person_id):
        return True
    return held.shop_id == actor.shop_id and allows(actor, May.SEE_CERTIFICATION)


def _no_such(token: str) -> NotFoundError:
    return NotFoundError(
        "there is no such certificate for you.",
        field="certificate",
        value=token[:40],
        remedy="Go to the list of certificates.",
    )


def _former(connection: Connection, held: Held, person_id: int) -> StoredCertificate | None:
    """Return the certificate this one renews: the latest of the scheme that was not revoked."""
    found = certificates.certificates_of(
        connection, person_id=person_id, scheme_id=held.stored.scheme_id
    )
    return next((one for one in found if one.revoked_at is None), None)


def _ends(terms: SchemeTerms, former: StoredCertificate | None, now: datetime) -> datetime:
    """Return the end: counted on from the former end where it is renewed in time."""
    start = now
    if former is not None and former.valid_until is not None and former.valid_until > now:
        opens = may_renew_from(former.life, terms.renew_from_days)
        start = former.valid_until if opens is not None and now >= opens else now
    return months_after(start, terms.valid_months)


def _free_place(taken: frozenset[int]) -> int:
    """Return a place in the status list nobody can guess from another."""
    while True:
        place = secrets.randbelow(PLACES)
        if place not in taken:
            return place


def _is_invented(connection: Connection, shop_id: int) -> bool:
    return any(shop.invented for shop in people.all_shops(connection) if shop.id == shop_id)


def _line(held: StoredCertificate, now: datetime) -> CertificateLine:
    terms = from_text(held.terms)
    opens = may_renew_from(held.life, terms.renew_from_days)
    state = state_at(held.life, now)
    return CertificateLine(
        held.token,
        held.holder_name,
        held.scheme_title,
        held.version,
        held.issued_at,
        held.valid_until,
        state,
        renewable=opens is not None and now >= opens and state is not CertificateState.REVOKED,
    )
