"""A certificate as an Open Badges 3.0 credential (1EdTech) on W3C Verifiable Credentials 2.0."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from quizsvc.interchange.credentials.moments import moment_text
from quizsvc.interchange.credentials.status_list import encode_status_list

CONTEXTS = [
    "https://www.w3.org/ns/credentials/v2",
    "https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json",
]
STATUS_CONTEXTS = ["https://www.w3.org/ns/credentials/v2"]


@dataclass(frozen=True, slots=True)
class Issuer:
    id: str  # a stable address
    name: str


@dataclass(frozen=True, slots=True)
class Award:
    """What a certificate says, as plain data."""

    credential_id: str  # address of the public page, with an id of 128 random bits
    holder_name: str
    scheme_id: str
    scheme_name: str
    scheme_scope: str
    criteria: str  # what had to be shown, in words
    issued: datetime
    expires: datetime | None
    status_list: str  # address of the status list credential
    status_place: int


def badge_credential(award: Award, issuer: Issuer) -> dict[str, Any]:
    """Return the unsigned credential; `type` is always an array, contexts in their order."""
    credential: dict[str, Any] = {
        "@context": CONTEXTS,
        "id": award.credential_id,
        "type": ["VerifiableCredential", "OpenBadgeCredential"],
        "name": award.scheme_name,
        "issuer": {"id": issuer.id, "type": ["Profile"], "name": issuer.name},
        "validFrom": moment_text(award.issued),
        "credentialSubject": _subject(award),
        "credentialStatus": status_entry(award.status_list, award.status_place),
    }
    if award.expires is not None:
        credential["validUntil"] = moment_text(award.expires)
    return credential


def status_entry(list_address: str, place: int) -> dict[str, str]:
    return {
        "id": f"{list_address}#{place}",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "revocation",
        "statusListIndex": str(place),
        "statusListCredential": list_address,
    }


def status_list_credential(
    address: str, issuer: Issuer, set_places: frozenset[int], *, issued: datetime
) -> Mapping[str, Any]:
    """Return the unsigned credential that carries the status list at ``address``."""
    return {
        "@context": STATUS_CONTEXTS,
        "id": address,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": issuer.id,
        "validFrom": moment_text(issued),
        "credentialSubject": {
            "id": f"{address}#list",
            "type": "BitstringStatusList",
            "statusPurpose": "revocation",
            "encodedList": encode_status_list(set_places),
        },
    }


def _subject(award: Award) -> dict[str, Any]:
    return {
        "type": ["AchievementSubject"],
        "identifier": [
            {
                "type": "IdentityObject",
                "hashed": False,
                "identityHash": award.holder_name,
                "identityType": "name",
            }
        ],
        "achievement": {
            "id": award.scheme_id,
            "type": ["Achievement"],
            "achievementType": "Certificate",
            "name": award.scheme_name,
            "description": award.scheme_scope,
            "criteria": {"narrative": award.criteria},
        },
    }
