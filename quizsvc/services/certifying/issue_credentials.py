"""A shop's signing keys, and what it publishes: keys, status list, signed credentials.

Private keys lie in the database, sealed under the installation's secret key, so that every
process has them and a copy of the database alone signs nothing.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.interchange.credentials.badge import (
    Award,
    Issuer,
    badge_credential,
    status_list_credential,
)
from quizsvc.interchange.credentials.keys import (
    SigningKey,
    decode_private,
    encode_private,
    encode_public,
    new_private_key,
)
from quizsvc.interchange.credentials.moments import moment_text
from quizsvc.interchange.credentials.proof import add_proof
from quizsvc.interchange.credentials.tokens import sign_token
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.certificate_life import require_reason
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.sealing import opened, sealed
from quizsvc.store import certificates, people, signing_keys
from quizsvc.store.certificates import StoredCertificate
from quizsvc.store.signing_keys import StoredKey

SEALED_AS = "signing keys"
LIST_STANDS = timedelta(days=7)  # a saved list older than this proves nothing
KEY_CONTEXTS = ["https://www.w3.org/ns/cid/v1"]


@dataclass(frozen=True, slots=True)
class Signed:
    """A credential in both of its forms, and the key that signed it."""

    document: dict[str, Any]
    token: str
    key_id: str


def issuer_of(connection: Connection, house: House, shop_id: int) -> Issuer:
    """Return a shop as the issuer of its certificates.

    Raises:
        NotFoundError: there is no such shop.
    """
    for shop in people.all_shops(connection):
        if shop.id == shop_id:
            return Issuer(f"{house.settings.public_url}/issuers/{shop_id}", shop.name)
    raise NotFoundError("there is no such issuer.", field="issuer", value=shop_id)


def list_address(issuer: Issuer) -> str:
    return f"{issuer.id}/status-list"


def sign(
    connection: Connection,
    house: House,
    shop_id: int,
    award: Award,
    *,
    now: datetime,
    awarded: datetime | None = None,
) -> Signed:
    """Sign a credential with the shop's key in use; its first key is made here.

    ``awarded`` is when it was first issued, where it is signed again.
    """
    issuer = issuer_of(connection, house, shop_id)
    key = _key_in_use(connection, house, shop_id, issuer, now)
    document = badge_credential(award, issuer)
    if awarded is not None:
        document["awardedDate"] = moment_text(awarded)
    return Signed(add_proof(document, key, created=now), sign_token(document, key), key.id)


def published_keys(house: House, shop_id: int) -> dict[str, Any]:
    """Return the issuer's key document; every key it ever used stays in it.

    Source: W3C, Controlled Identifiers 1.0. ``validFrom`` is an addition of ours.
    """
    with house.read() as connection:
        issuer = issuer_of(connection, house, shop_id)
        keys = signing_keys.keys_of(connection, shop_id)
    return {
        "@context": KEY_CONTEXTS,
        "id": issuer.id,
        "name": issuer.name,
        "verificationMethod": [_published(issuer, key) for key in keys],
        "assertionMethod": [f"{issuer.id}#{key.name}" for key in keys if key.revoked_at is None],
    }


def status_list(house: House, shop_id: int, *, now: datetime) -> dict[str, Any]:
    """Return the shop's signed status list: revoked certificates, and those suspended for now.

    Open Badges 3.0 has room for one status entry, so that both stand in one list; a suspended
    certificate's bit is cleared again when it is reinstated.
    """
    with house.read() as connection:
        issuer = issuer_of(connection, house, shop_id)
        keys = signing_keys.keys_of(connection, shop_id)
        places = certificates.places_set(connection, shop_id)
    usable = _usable(keys)
    if usable is None:
        raise NotFoundError(
            "this shop has issued no certificate yet.", field="status list", value=shop_id
        )
    listed = status_list_credential(list_address(issuer), issuer, places, issued=now)
    document = dict(listed) | {"validUntil": moment_text(now + LIST_STANDS)}
    return add_proof(document, _opened(house, issuer, usable), created=now)


def keys_listed(house: House, actor: Actor) -> tuple[StoredKey, ...]:
    require(actor, May.KEEP_KEYS)
    with house.read() as connection:
        return signing_keys.keys_of(connection, actor.shop_id)


def rotate(house: House, actor: Actor, *, now: datetime) -> str:
    """End the keys in use and make a new one; what the old ones signed stays good."""
    require(actor, May.KEEP_KEYS)
    with house.write() as connection:
        signing_keys.end_keys(connection, actor.shop_id, now=now)
        made = _make_key(connection, house, actor.shop_id, now, actor)
    return made.name


def revoke_key(house: House, actor: Actor, name: str, reason: str, *, now: datetime) -> int:
    """Withdraw a key that may be known to others; certificates it signed are signed anew.

    Returns how many. Copies of those that were handed out before are not valid any more.
    """
    require(actor, May.KEEP_KEYS)
    words = require_reason(reason)
    with house.write() as connection:
        key = next(
            (one for one in signing_keys.keys_of(connection, actor.shop_id) if one.name == name),
            None,
        )
        if key is None:
            raise NotFoundError("there is no such key here.", field="key", value=name)
        signing_keys.revoke_key(connection, key.id, now=now)
        note(
            connection,
            actor,
            Action.SIGNING_KEY_REVOKED,
            f"key {name}",
            now=now,
            reason=words,
        )
        return _sign_again(connection, house, actor.shop_id, name, now)


def award_of(issuer: Issuer, held: StoredCertificate, *, issued: datetime) -> Award:
    """Return a stored certificate as what a credential says."""
    data = json.loads(held.credential)
    achievement = data["credentialSubject"]["achievement"]
    return Award(
        credential_id=data["id"],
        holder_name=held.holder_name,
        scheme_id=achievement["id"],
        scheme_name=achievement["name"],
        scheme_scope=achievement["description"],
        criteria=achievement["criteria"]["narrative"],
        issued=issued,
        expires=held.valid_until,
        status_list=list_address(issuer),
        status_place=held.status_place,
    )


def _sign_again(
    connection: Connection, house: House, shop_id: int, key_name: str, now: datetime
) -> int:
    issuer = issuer_of(connection, house, shop_id)
    count = 0
    for held in certificates.certificates_of(connection, shop_id=shop_id):
        ended = held.valid_until is not None and held.valid_until <= now
        if held.key_id != f"{issuer.id}#{key_name}" or held.revoked_at is not None or ended:
            continue
        if held.files_erased:
            continue
        award = award_of(issuer, held, issued=now)
        signed = sign(connection, house, shop_id, award, now=now, awarded=held.issued_at)
        certificates.change_certificate(
            connection,
            held.id,
            credential=json.dumps(signed.document, ensure_ascii=False),
            token_form=signed.token,
            key_id=signed.key_id,
        )
        count += 1
    return count


def _key_in_use(
    connection: Connection, house: House, shop_id: int, issuer: Issuer, now: datetime
) -> SigningKey:
    keys = signing_keys.keys_of(connection, shop_id)
    stored = _usable(keys) or _make_key(connection, house, shop_id, now, None)
    return _opened(house, issuer, stored)


def _usable(keys: tuple[StoredKey, ...]) -> StoredKey | None:
    usable = [one for one in keys if one.valid_until is None and one.revoked_at is None]
    return usable[-1] if usable else None


def _make_key(
    connection: Connection, house: House, shop_id: int, now: datetime, actor: Actor | None
) -> StoredKey:
    private = new_private_key()
    # The key's first second counts as a whole: credentials write whole seconds.
    since = now.replace(microsecond=0)
    made = signing_keys.add_key(
        connection,
        shop_id,
        public=encode_public(private.public_key()),
        sealed=sealed(house, SEALED_AS, _owner(shop_id), encode_private(private)),
        now=since,
    )
    note(
        connection,
        actor,
        Action.SIGNING_KEY_MADE,
        f"key {made.name}",
        now=now,
        shop_id=shop_id,
        public=made.public,
    )
    return made


def _published(issuer: Issuer, key: StoredKey) -> dict[str, Any]:
    method: dict[str, Any] = {
        "id": f"{issuer.id}#{key.name}",
        "type": "Multikey",
        "controller": issuer.id,
        "publicKeyMultibase": key.public,
        "validFrom": moment_text(key.valid_from),
    }
    if key.valid_until is not None:
        method["expires"] = moment_text(key.valid_until)
    if key.revoked_at is not None:
        method["revoked"] = moment_text(key.revoked_at)
    return method


def _opened(house: House, issuer: Issuer, key: StoredKey) -> SigningKey:
    private = opened(
        house,
        SEALED_AS,
        _owner(key.shop_id),
        key.sealed,
        what="the signing key",
        otherwise="let the manager make a new signing key",
    )
    return SigningKey(f"{issuer.id}#{key.name}", decode_private(private))


def _owner(shop_id: int) -> str:
    return f"shop {shop_id}"
