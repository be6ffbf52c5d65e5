"""Who is signed in, and how often signing in failed; shared by all processes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import (
    CheckConstraint,
    Connection,
    Index,
    bindparam,
    case,
    delete,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.columns import Base, Hash, Name, PersonKey, ShopKey, UtcAt, UtcTime
from quizsvc.store.people import Membership, Person, Shop
from quizsvc.store.second_factors import OWED, HalfSignedIn
from quizsvc.store.turns import too_busy

TRIES = 5  # of locking rows that others may take away meanwhile


class SignedIn(Base):
    """A session. The token itself is never stored, only its hash."""

    __tablename__ = "signed_in"

    token_hash: Mapped[Hash] = mapped_column(primary_key=True)
    person_id: Mapped[PersonKey]
    shop_id: Mapped[ShopKey]
    made_at: Mapped[UtcAt]
    ends_at: Mapped[UtcAt]
    ended_at: Mapped[UtcAt | None]  # signed out or revoked
    seen_at: Mapped[UtcAt | None]  # last use, to within some minutes; none since it was made
    source: Mapped[Name]

    __table_args__ = (
        CheckConstraint("ends_at > made_at", name="ends_after_it_began"),
        Index(None, "person_id"),
    )


class SignInFailures(Base):
    """Failures counted under a key (an account, a source, or both together) since a time."""

    __tablename__ = "sign_in_failures"

    key_hash: Mapped[Hash] = mapped_column(primary_key=True)
    count: Mapped[int]
    since: Mapped[UtcAt] = mapped_column(index=True)


_NEW_COUNT = {
    "sqlite": sqlite.insert(SignInFailures).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(SignInFailures).on_conflict_do_nothing(),
}
_LOCK_COUNTS = (
    select(SignInFailures.key_hash, SignInFailures.count, SignInFailures.since)
    .where(SignInFailures.key_hash.in_(bindparam("keys", expanding=True)))
    .order_by(SignInFailures.key_hash)
    .with_for_update()
)


@dataclass(frozen=True, slots=True)
class ActorRow:
    person_id: int
    name: str
    shop_id: int
    shop_name: str
    role: str
    seen_at: datetime
    owes_second_factor: bool


@dataclass(frozen=True, slots=True)
class SessionRow:
    token_hash: str
    made_at: datetime
    ends_at: datetime
    seen_at: datetime
    source: str


_SEEN = func.coalesce(SignedIn.seen_at, SignedIn.made_at, type_=UtcTime())
_BEHIND = (
    select(Person.id, Person.name, Shop.id, Shop.name, Membership.role, _SEEN, OWED)
    .select_from(SignedIn)
    .join(Person, Person.id == SignedIn.person_id)
    .join(Shop, Shop.id == SignedIn.shop_id)
    .join(
        Membership,
        (Membership.person_id == SignedIn.person_id) & (Membership.shop_id == SignedIn.shop_id),
    )
    .where(
        SignedIn.token_hash == bindparam("hash"),
        SignedIn.ended_at.is_(None),
        SignedIn.ends_at > bindparam("at"),
        bindparam("seen_after", type_=UtcTime()) < _SEEN,
        Person.active,
    )
)


def roles_behind(
    connection: Connection, token_hash: str, *, now: datetime, seen_after: datetime
) -> list[ActorRow]:
    """Return a row per role held now by the person behind a live session; empty for none.

    A session that was not used after ``seen_after`` is none. One that began later than ``now``
    is good: somebody set the machine's clock back, and whoever is at work must not be stopped.
    """
    stated = {"hash": token_hash, "at": now, "seen_after": seen_after}
    return [ActorRow(*row) for row in connection.execute(_BEHIND, stated).all()]


def see_session(connection: Connection, token_hash: str, *, now: datetime) -> None:
    """Note that a session is in use."""
    connection.execute(
        update(SignedIn).where(SignedIn.token_hash == token_hash).values(seen_at=now)
    )


def live_sessions(
    connection: Connection, person_id: int, *, now: datetime, seen_after: datetime
) -> tuple[SessionRow, ...]:
    """Return the sessions a person could go on with, the last used first."""
    rows = connection.execute(
        select(SignedIn.token_hash, SignedIn.made_at, SignedIn.ends_at, _SEEN, SignedIn.source)
        .where(
            SignedIn.person_id == person_id,
            SignedIn.ended_at.is_(None),
            SignedIn.ends_at > now,
            seen_after < _SEEN,
        )
        .order_by(_SEEN.desc(), SignedIn.token_hash)
    )
    return tuple(SessionRow(*row) for row in rows)


def add_session(
    connection: Connection,
    *,
    token_hash: str,
    person_id: int,
    shop_id: int,
    now: datetime,
    ends_at: datetime,
    source: str,
) -> None:
    connection.execute(
        insert(SignedIn).values(
            token_hash=token_hash,
            person_id=person_id,
            shop_id=shop_id,
            made_at=now,
            ends_at=ends_at,
            source=source,
        )
    )


def end_session(connection: Connection, token_hash: str, *, now: datetime) -> None:
    connection.execute(
        update(SignedIn)
        .where(SignedIn.token_hash == token_hash, SignedIn.ended_at.is_(None))
        .values(ended_at=now)
    )


def move_session(connection: Connection, token_hash: str, shop_id: int) -> None:
    """Let a session go on in another shop."""
    connection.execute(
        update(SignedIn)
        .where(SignedIn.token_hash == token_hash, SignedIn.ended_at.is_(None))
        .values(shop_id=shop_id)
    )


def end_all_sessions(
    connection: Connection, person_id: int, *, now: datetime, but: str = ""
) -> None:
    """End every session of a person, halves too; ``but`` is the hash of one that goes on."""
    connection.execute(delete(HalfSignedIn).where(HalfSignedIn.person_id == person_id))
    connection.execute(
        update(SignedIn)
        .where(
            SignedIn.person_id == person_id,
            SignedIn.ended_at.is_(None),
            SignedIn.token_hash != but,
        )
        .values(ended_at=now)
    )


def end_all_of_shop(connection: Connection, shop_id: int, *, now: datetime) -> None:
    """End every session in which somebody works in a shop."""
    connection.execute(
        update(SignedIn)
        .where(SignedIn.shop_id == shop_id, SignedIn.ended_at.is_(None))
        .values(ended_at=now)
    )


def has_signed_in_from(
    connection: Connection, person_id: int, source: str, *, since: datetime
) -> bool:
    found = connection.scalar(
        select(SignedIn.person_id)
        .where(
            SignedIn.person_id == person_id,
            SignedIn.source == source,
            SignedIn.made_at >= since,
        )
        .limit(1)
    )
    return found is not None


def lock_failures(
    connection: Connection, key_hashes: list[str], *, now: datetime
) -> dict[str, tuple[int, datetime]]:
    """Return count and start of the failures under each key, kept from others until the end.

    Rows are locked in one order, so that two sign-ins never wait for each other. One that
    somebody else takes away while this one waits for it is made again.
    """
    new_row = _NEW_COUNT[connection.dialect.name]
    rows = [{"key_hash": key, "count": 0, "since": now} for key in sorted(set(key_hashes))]
    for _ in range(TRIES):
        connection.execute(new_row, rows)
        found = lock_known(connection, key_hashes)
        if len(found) == len(rows):
            return found
    raise too_busy()


def lock_known(connection: Connection, key_hashes: list[str]) -> dict[str, tuple[int, datetime]]:
    """Lock the rows that are there already, in the same order; return what `lock_failures` does."""
    rows = connection.execute(_LOCK_COUNTS, {"keys": sorted(key_hashes)}).all()
    return {row[0]: (row[1], row[2]) for row in rows}


def count_failures(
    connection: Connection, key_hashes: list[str], *, now: datetime, since: datetime
) -> None:
    """Add a failure under each locked key; a count of none or from before ``since`` starts anew."""
    old = (SignInFailures.since <= since) | (SignInFailures.count == 0)
    connection.execute(
        update(SignInFailures)
        .where(SignInFailures.key_hash.in_(key_hashes))
        .values(
            count=case((old, 1), else_=SignInFailures.count + 1),
            since=case((old, now), else_=SignInFailures.since),
        )
    )


def clear_failures(connection: Connection, key_hashes: list[str]) -> None:
    """Forget the failures under each key. The rows stay: somebody may be waiting for them."""
    connection.execute(
        update(SignInFailures).where(SignInFailures.key_hash.in_(key_hashes)).values(count=0)
    )


def forgive(connection: Connection, key_hashes: list[str]) -> None:
    """Take back one counted failure under each key: the attempt turned out right."""
    connection.execute(
        update(SignInFailures)
        .where(SignInFailures.key_hash.in_(key_hashes), SignInFailures.count > 0)
        .values(count=SignInFailures.count - 1)
    )


def forget_old(connection: Connection, *, before: datetime) -> None:
    """Drop sessions that ended, and failures counted, before a time."""
    connection.execute(delete(SignedIn).where(SignedIn.ends_at < before))
    connection.execute(delete(SignInFailures).where(SignInFailures.since < before))
