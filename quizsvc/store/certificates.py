"""Certificates with their credentials, and what has been done to each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    ForeignKey,
    Index,
    String,
    UniqueConstraint,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.rules.certificate_life import CertificateDeed, Life
from quizsvc.store.columns import (
    Base,
    Body,
    Key,
    Name,
    PersonKey,
    ShopKey,
    Slug,
    UtcAt,
    Word,
    one_of,
)
from quizsvc.store.people import Person
from quizsvc.store.schemes import Scheme, SchemeVersion


class Certificate(Base):
    __tablename__ = "certificate"

    id: Mapped[Key]
    token: Mapped[str] = mapped_column(String(32), unique=True)  # 128 random bits in hex
    version_id: Mapped[int] = mapped_column(ForeignKey("scheme_version.id"))
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    decision_id: Mapped[int] = mapped_column(ForeignKey("decision.id"))
    holder_name: Mapped[Name]  # as it was when issued
    issued_at: Mapped[UtcAt]
    valid_until: Mapped[UtcAt | None]
    status_place: Mapped[int]  # in the issuer's status list
    key_id: Mapped[Slug]
    credential: Mapped[Body]  # signed JSON
    token_form: Mapped[Body]  # the same as a signed token
    suspended_at: Mapped[UtcAt | None]
    revoked_at: Mapped[UtcAt | None]
    reason: Mapped[Body]  # of suspension or revocation
    renews_id: Mapped[int | None] = mapped_column(ForeignKey("certificate.id"))

    __table_args__ = (
        UniqueConstraint("shop_id", "status_place"),
        CheckConstraint("status_place BETWEEN 0 AND 131071", name="place_in_the_list"),
        CheckConstraint("valid_until IS NULL OR valid_until > issued_at", name="valid_for_a_time"),
        Index(None, "person_id"),
        Index(None, "shop_id", "valid_until"),
    )


class CertificateNote(Base):
    """One line of a certificate's history. Only appended to."""

    __tablename__ = "certificate_note"

    id: Mapped[Key]
    certificate_id: Mapped[int] = mapped_column(ForeignKey("certificate.id"), index=True)
    deed: Mapped[Word]
    reason: Mapped[Body]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    at: Mapped[UtcAt]

    __table_args__ = (CheckConstraint(one_of("deed", CertificateDeed), name="known_deed"),)


@dataclass(frozen=True, slots=True)
class StoredCertificate:
    id: int
    token: str
    version_id: int
    scheme_id: int
    scheme_title: str
    version: int
    terms: str
    person_id: int
    shop_id: int
    decision_id: int
    holder_name: str
    issued_at: datetime
    valid_until: datetime | None
    status_place: int
    key_id: str
    credential: str
    token_form: str
    suspended_at: datetime | None
    revoked_at: datetime | None
    reason: str
    renews_id: int | None

    @property
    def life(self) -> Life:
        return Life(self.issued_at, self.valid_until, self.suspended_at, self.revoked_at)

    @property
    def files_erased(self) -> bool:
        """Whether the holder's data were erased, and with them what was signed about them."""
        return not self.credential


@dataclass(frozen=True, slots=True)
class NoteLine:
    deed: CertificateDeed
    reason: str
    person: str | None
    at: datetime


_ROW = (
    select(
        Certificate.id,
        Certificate.token,
        Certificate.version_id,
        SchemeVersion.scheme_id,
        Scheme.title.label("scheme_title"),
        SchemeVersion.version,
        SchemeVersion.terms,
        Certificate.person_id,
        Certificate.shop_id,
        Certificate.decision_id,
        Certificate.holder_name,
        Certificate.issued_at,
        Certificate.valid_until,
        Certificate.status_place,
        Certificate.key_id,
        Certificate.credential,
        Certificate.token_form,
        Certificate.suspended_at,
        Certificate.revoked_at,
        Certificate.reason,
        Certificate.renews_id,
    )
    .join(SchemeVersion, SchemeVersion.id == Certificate.version_id)
    .join(Scheme, Scheme.id == SchemeVersion.scheme_id)
)


def add_certificate(connection: Connection, **columns: object) -> int:
    row = connection.execute(insert(Certificate).values(**columns).returning(Certificate.id))
    return row.scalar_one()


def change_certificate(connection: Connection, certificate_id: int, **columns: object) -> None:
    connection.execute(
        update(Certificate).where(Certificate.id == certificate_id).values(**columns)
    )


def find_certificate(
    connection: Connection, token: str, *, lock: bool = False
) -> StoredCertificate | None:
    wanted = _ROW.where(Certificate.token == token)
    row = connection.execute(wanted.with_for_update(of=Certificate) if lock else wanted).first()
    return _certificate(row) if row else None


def certificates_of(
    connection: Connection,
    *,
    shop_id: int | None = None,
    person_id: int | None = None,
    scheme_id: int | None = None,
    decision_id: int | None = None,
) -> tuple[StoredCertificate, ...]:
    """Return certificates, the newest first."""
    wanted = _ROW.order_by(Certificate.id.desc())
    if shop_id is not None:
        wanted = wanted.where(Certificate.shop_id == shop_id)
    if person_id is not None:
        wanted = wanted.where(Certificate.person_id == person_id)
    if scheme_id is not None:
        wanted = wanted.where(SchemeVersion.scheme_id == scheme_id)
    if decision_id is not None:
        wanted = wanted.where(Certificate.decision_id == decision_id)
    return tuple(_certificate(row) for row in connection.execute(wanted))


def valid_rows(
    connection: Connection, shop_id: int, *, now: datetime
) -> list[tuple[int, int, int, datetime, datetime | None]]:
    """Return (person, scheme, version, issued, valid until) of what is valid now in a shop."""
    rows = connection.execute(
        select(
            Certificate.person_id,
            SchemeVersion.scheme_id,
            Certificate.version_id,
            Certificate.issued_at,
            Certificate.valid_until,
        )
        .join(SchemeVersion, SchemeVersion.id == Certificate.version_id)
        .where(
            Certificate.shop_id == shop_id,
            Certificate.revoked_at.is_(None),
            Certificate.suspended_at.is_(None),
            Certificate.issued_at <= now,
            Certificate.valid_until.is_(None) | (Certificate.valid_until > now),
        )
    )
    return [(row[0], row[1], row[2], row[3], row[4]) for row in rows]


def ending_between(
    connection: Connection, start: datetime, end: datetime
) -> tuple[StoredCertificate, ...]:
    """Return certificates that stand and end in a span of time, in all shops."""
    rows = connection.execute(
        _ROW.where(
            Certificate.revoked_at.is_(None),
            Certificate.valid_until > start,
            Certificate.valid_until <= end,
        ).order_by(Certificate.id)
    )
    return tuple(_certificate(row) for row in rows)


def places_taken(connection: Connection, shop_id: int) -> frozenset[int]:
    return frozenset(
        connection.scalars(select(Certificate.status_place).where(Certificate.shop_id == shop_id))
    )


def places_set(connection: Connection, shop_id: int) -> frozenset[int]:
    """Return the places of what is revoked or, for now, suspended."""
    return frozenset(
        connection.scalars(
            select(Certificate.status_place).where(
                Certificate.shop_id == shop_id,
                Certificate.revoked_at.is_not(None) | Certificate.suspended_at.is_not(None),
            )
        )
    )


def add_note(
    connection: Connection,
    certificate_id: int,
    deed: CertificateDeed,
    *,
    reason: str,
    person_id: int | None,
    now: datetime,
) -> None:
    connection.execute(
        insert(CertificateNote).values(
            certificate_id=certificate_id,
            deed=deed.value,
            reason=reason,
            person_id=person_id,
            at=now,
        )
    )


def notes_of(connection: Connection, certificate_id: int) -> tuple[NoteLine, ...]:
    rows = connection.execute(
        select(CertificateNote.deed, CertificateNote.reason, Person.name, CertificateNote.at)
        .outerjoin(Person, Person.id == CertificateNote.person_id)
        .where(CertificateNote.certificate_id == certificate_id)
        .order_by(CertificateNote.id)
    )
    return tuple(NoteLine(CertificateDeed(row[0]), row[1], row[2], row[3]) for row in rows)


def _certificate(row: Any) -> StoredCertificate:
    return StoredCertificate(**dict(row._mapping))  # noqa: SLF001 - SQLAlchemy's public name
