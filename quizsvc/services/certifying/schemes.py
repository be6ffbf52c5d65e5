"""Make schemes, change them by new versions, and publish them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import POLICY, May, require
from quizsvc.rules.schemes import SchemeTerms, VersionState, as_text, check_scheme, from_text
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.store import banks, panels, people_pages, schemes, sheets
from quizsvc.store.schemes import StoredVersion


@dataclass(frozen=True, slots=True)
class Held:
    """A scheme's version with its terms read."""

    stored: StoredVersion
    terms: SchemeTerms

    @property
    def id(self) -> int:
        return self.stored.id

    @property
    def state(self) -> VersionState:
        return self.stored.state


@dataclass(frozen=True, slots=True)
class SchemeLine:
    """A scheme's version in the list."""

    id: int
    scheme_id: int
    title: str
    version: int
    state: VersionState
    questions: int
    tasks: int
    has_cut: bool


@dataclass(frozen=True, slots=True)
class SchemeChoices:
    """What a scheme may be built from."""

    sheets: tuple[tuple[str, str], ...]
    schemes: tuple[tuple[int, str], ...]
    people: tuple[tuple[int, str], ...]  # who may judge


def listed(house: House, actor: Actor) -> tuple[SchemeLine, ...]:
    """Return all versions of the shop's schemes."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        found = [_held(one) for one in schemes.versions_of_shop(connection, actor.shop_id)]
    return tuple(
        SchemeLine(
            one.id,
            one.stored.scheme_id,
            one.terms.title,
            one.stored.version,
            one.state,
            one.terms.counted,
            len(one.terms.tasks),
            one.stored.cut_share is not None,
        )
        for one in found
    )


def choices(house: House, actor: Actor) -> SchemeChoices:
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        revisions = sheets.latest_published(connection, actor.shop_id)
        versions = schemes.versions_of_shop(connection, actor.shop_id)
        staff = [
            (one.id, one.name)
            for one in people_pages.people_of(connection, actor.shop_id)
            if one.active and not one.roles.isdisjoint(POLICY[May.JUDGE])
        ]
    return SchemeChoices(
        tuple((one.sheet_id, one.title) for one in revisions),
        tuple({one.scheme_id: (one.scheme_id, one.title) for one in versions}.values()),
        tuple(staff),
    )


def draft(house: House, actor: Actor, terms: SchemeTerms, *, now: datetime) -> int:
    """Make a scheme and return the key of its first version, a draft.

    Raises:
        InputError: nobody could be certified by these terms.
        ConflictError: the shop has a scheme of this title.
    """
    require(actor, May.KEEP_SCHEMES)
    check_scheme(terms)
    with house.write() as connection:
        _check_sources(connection, actor, terms)
        _require_free_title(connection, actor, terms.title)
        scheme_id = schemes.add_scheme(connection, actor.shop_id, terms.title, now=now)
        version_id = schemes.add_version(
            connection, scheme_id, as_text(terms), made_by=actor.person_id, now=now
        )
        _noted(connection, actor, Action.SCHEME_DRAFTED, version_id, now)
    return version_id


def change(house: House, actor: Actor, version_id: int, terms: SchemeTerms) -> None:
    """Change a draft. Once its panel has opened only a new version can differ."""
    require(actor, May.KEEP_SCHEMES)
    check_scheme(terms)
    with house.write() as connection:
        held = find(connection, actor, version_id, lock=True)
        _require_draft(held)
        if panels.panel_of(connection, version_id) is not None:
            raise ConflictError(
                "judges are at work on this version, so its terms stay.",
                field="scheme",
                value=held.terms.title,
                remedy="Finish it, then make a new version.",
            )
        _check_sources(connection, actor, terms)
        if terms.title != held.stored.title:
            _require_free_title(connection, actor, terms.title)
            schemes.rename(connection, held.stored.scheme_id, terms.title)
        schemes.change_version(connection, version_id, terms=as_text(terms))


def new_version(house: House, actor: Actor, version_id: int, *, now: datetime) -> int:
    """Make a draft of the next version with the same terms; certificates keep their own."""
    require(actor, May.KEEP_SCHEMES)
    with house.write() as connection:
        held = find(connection, actor, version_id, lock=True)
        for one in schemes.versions_of_shop(connection, actor.shop_id):
            if one.scheme_id == held.stored.scheme_id and one.state is VersionState.DRAFT:
                return one.id
        made = schemes.add_version(
            connection,
            held.stored.scheme_id,
            held.stored.terms,
            made_by=actor.person_id,
            now=now,
        )
        _noted(connection, actor, Action.SCHEME_DRAFTED, made, now)
    return made


def publish(house: House, actor: Actor, version_id: int, *, now: datetime) -> None:
    """Certify people by this version from now on; somebody other than its maker does this.

    Raises:
        ConflictError: it is no draft, or has no approved cut score.
        NotAllowedError: the actor made it.
    """
    require(actor, May.KEEP_SCHEMES)
    with house.write() as connection:
        held = find(connection, actor, version_id, lock=True)
        _require_draft(held)
        require_other_than_maker(actor, held, "publish")
        if held.stored.cut_share is None:
            raise ConflictError(
                "it has no approved cut score.",
                field="cut score",
                value="none",
                remedy="Let a panel judge the questions, then approve the cut.",
            )
        schemes.replace_published(connection, held.stored.scheme_id)
        schemes.change_version(
            connection,
            version_id,
            state=VersionState.PUBLISHED.value,
            published_by=actor.person_id,
            published_at=now,
        )
        _noted(connection, actor, Action.SCHEME_PUBLISHED, version_id, now)


def look(house: House, actor: Actor, version_id: int) -> Held:
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        return find(connection, actor, version_id)


def find(connection: Connection, actor: Actor, version_id: int, *, lock: bool = False) -> Held:
    """Return a version of the actor's shop; another shop's looks like none at all."""
    stored = schemes.find_version(connection, version_id, lock=lock)
    if stored is None or stored.shop_id != actor.shop_id:
        raise NotFoundError(
            "there is no such scheme here.",
            field="scheme",
            value=version_id,
            remedy="Go to the list of schemes.",
        )
    return _held(stored)


def versions(connection: Connection, shop_id: int) -> tuple[Held, ...]:
    """Return every version of a shop's schemes; permission is the caller's matter."""
    return tuple(_held(one) for one in schemes.versions_of_shop(connection, shop_id))


def published(connection: Connection, actor: Actor, version_id: int) -> Held:
    """Return a version people are certified by now.

    Raises:
        ConflictError: it is a draft, or has been replaced.
    """
    held = find(connection, actor, version_id)
    if held.state is not VersionState.PUBLISHED:
        raise ConflictError(
            f"this version of the scheme is {held.state.value}.",
            field="scheme",
            value=f"{held.terms.title}, version {held.stored.version}",
            remedy="Use the version that is published.",
        )
    return held


def require_other_than_maker(actor: Actor, held: Held, deed: str) -> None:
    if held.stored.made_by == actor.person_id:
        raise NotAllowedError(
            f"whoever made a version doesn't {deed} it.",
            field="person",
            value=actor.name,
            remedy="Another instructor or manager of the shop has to.",
        )


def names_in(connection: Connection, shop_id: int) -> dict[int, str]:
    """Return the names of everybody in a shop."""
    return {one.id: one.name for one in people_pages.people_of(connection, shop_id)}


def _held(stored: StoredVersion) -> Held:
    return Held(stored, from_text(stored.terms))


def _require_draft(held: Held) -> None:
    if held.state is not VersionState.DRAFT:
        raise ConflictError(
            f"this version is {held.state.value} and stays as it is.",
            field="scheme",
            value=f"{held.terms.title}, version {held.stored.version}",
            remedy="Make a new version.",
        )


def _require_free_title(connection: Connection, actor: Actor, title: str) -> None:
    if schemes.find_scheme(connection, actor.shop_id, title) is not None:
        raise ConflictError(
            "there is a scheme of this title here.",
            field="title",
            value=title,
            remedy="Choose another, or make a new version of that one.",
        )


def _check_sources(connection: Connection, actor: Actor, terms: SchemeTerms) -> None:
    """Refuse sheets, schemes or trial items that the shop does not have."""
    known_sheets = {one.sheet_id for one in sheets.latest_published(connection, actor.shop_id)}
    known_schemes = {one.scheme_id for one in schemes.versions_of_shop(connection, actor.shop_id)}
    if strange := set(terms.sheets) - known_sheets:
        raise _unknown("engine sheet", min(strange))
    if strange_schemes := set(terms.needs_schemes) - known_schemes:
        raise _unknown("scheme", min(strange_schemes))
    topics = {row.topic for row in terms.blueprint}
    known_items = {
        f"bank:{one.bank_id}/{one.entry}"
        for topic in topics
        for one in banks.current_approved(connection, actor.shop_id, topic)
    }
    if strange := set(terms.pilot_items) - known_items:
        raise _unknown("approved item in the blueprint's topics", min(strange))


def _unknown(what: str, name: object) -> NotFoundError:
    return NotFoundError(
        f"there is no such {what} here.",
        field=what,
        value=name,
        remedy="Choose one of those on the page.",
    )


def _noted(
    connection: Connection, actor: Actor, action: Action, version_id: int, now: datetime
) -> None:
    stored = schemes.find_version(connection, version_id)
    version = stored.version if stored else 0
    scheme_id = stored.scheme_id if stored else 0
    note(connection, actor, action, f"scheme {scheme_id}", now=now, version=version)
