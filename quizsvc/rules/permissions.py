"""Who may do what: the only place that knows. Pure predicates over actor and subject."""

from __future__ import annotations

from enum import StrEnum

from quizsvc.errors import NotAllowedError
from quizsvc.rules.actors import Actor, Role

L, I, M, A = Role.LEARNER, Role.INSTRUCTOR, Role.MANAGER, Role.ADMINISTRATOR  # noqa: E741


class May(StrEnum):
    """What an actor may do within their own shop."""

    PRACTISE = "practise"
    SEE_OWN_RECORD = "see their own record"
    SEE_CLASS_RECORDS = "see the records of a class"
    SEE_SHOP_RECORDS = "see the records of everybody in the shop"
    WRITE_ITEMS = "write items"
    WRITE_SHEETS = "write engine sheets"
    KEEP_PEOPLE = "add people and give roles"
    KEEP_SIGN_IN_RULE = "say who needs a second factor to sign in"
    RESET_PASSWORDS = "let somebody choose a forgotten password anew"
    END_ALL_SESSIONS = "sign everybody of the shop out"
    MAKE_SHOPS = "make shops"
    KEEP_CLASSES = "make classes and put people into them"
    ASSIGN = "give out assignments and tests"
    WATCH = "see how an assignment goes"
    MARK_TESTS_AGAIN = "mark finished tests again after a key was corrected"
    READ_AUDIT = "read the audit log"
    SEE_CERTIFICATION = "see schemes, candidates and certificates"
    KEEP_SCHEMES = "make schemes and approve those of others"
    JUDGE = "judge questions in a panel"
    ADMIT = "admit candidates to a scheme's test"
    SIGN_OFF = "sign off hands-on tasks"
    DECIDE = "decide about candidates"
    KEEP_CERTIFICATES = "suspend, revoke and renew certificates"
    KEEP_KEYS = "change the keys that sign certificates"
    SEE_READINESS = "see who is ready for which job"
    KEEP_JOBS = "say what jobs ask of people, and who works on which shift"
    ORDER_BRIDGING = "order a quiz about what changed"
    EXPORT_PERSON = "export all that is kept about another person"
    ERASE_PERSON = "erase a person"


POLICY: dict[May, frozenset[Role]] = {
    May.PRACTISE: frozenset({L, I, M, A}),
    May.SEE_OWN_RECORD: frozenset({L, I, M, A}),
    May.SEE_CLASS_RECORDS: frozenset({I, M}),
    May.SEE_SHOP_RECORDS: frozenset({M}),
    May.WRITE_ITEMS: frozenset({I}),
    May.WRITE_SHEETS: frozenset({I}),
    May.KEEP_PEOPLE: frozenset({M, A}),
    May.KEEP_SIGN_IN_RULE: frozenset({M, A}),
    May.RESET_PASSWORDS: frozenset({A}),
    May.END_ALL_SESSIONS: frozenset({A}),
    May.MAKE_SHOPS: frozenset({A}),
    May.KEEP_CLASSES: frozenset({I, M, A}),
    May.ASSIGN: frozenset({I}),
    May.WATCH: frozenset({I, M}),
    May.MARK_TESTS_AGAIN: frozenset({I}),
    May.READ_AUDIT: frozenset({A}),
    May.SEE_CERTIFICATION: frozenset({I, M}),
    May.KEEP_SCHEMES: frozenset({I, M}),
    May.JUDGE: frozenset({I, M}),
    May.ADMIT: frozenset({I}),
    May.SIGN_OFF: frozenset({I, M}),
    May.DECIDE: frozenset({I, M}),
    May.KEEP_CERTIFICATES: frozenset({M}),
    May.KEEP_KEYS: frozenset({M, A}),
    May.SEE_READINESS: frozenset({I, M}),  # instructors: of the classes they lead
    May.KEEP_JOBS: frozenset({M}),
    May.ORDER_BRIDGING: frozenset({I, M}),
    May.EXPORT_PERSON: frozenset({A}),
    May.ERASE_PERSON: frozenset({A}),
}


def allows(actor: Actor, deed: May) -> bool:
    return actor.is_a(*POLICY[deed])


def require(actor: Actor, deed: May) -> None:
    """Raise `NotAllowedError` unless the actor may."""
    if not allows(actor, deed):
        wanted = " or ".join(role.value for role in Role if role in POLICY[deed])
        raise NotAllowedError(
            f"you may not {deed.value} here.",
            remedy=f"Somebody who is {wanted} in {actor.shop_name or 'this shop'} may.",
        )


def owns(actor: Actor, person_id: int) -> bool:
    """Return whether something that belongs to a person is the actor's own."""
    return actor.person_id == person_id


def may_change_bank(actor: Actor, bank_shop_id: int | None, *, only_shop: bool) -> bool:
    """Return whether the actor may change items of a bank: their shop's own.

    A bank without a shop is shared by all; it may be changed only where one shop is all there is.
    """
    if not allows(actor, May.WRITE_ITEMS):
        return False
    return only_shop if bank_shop_id is None else bank_shop_id == actor.shop_id


def may_give(actor: Actor, role: Role) -> bool:
    """Return whether the actor may give or take a role: administrators all, others the rest."""
    if role is Role.ADMINISTRATOR:
        return actor.is_a(Role.ADMINISTRATOR)
    return allows(actor, May.KEEP_PEOPLE)


def may_change_sheet(actor: Actor, sheet_shop_id: int | None, *, only_shop: bool) -> bool:
    """Return whether the actor may store revisions of an engine sheet: their shop's own.

    A sheet without a shop is shared by all; it may be changed only where one shop is all there is.
    """
    if not allows(actor, May.WRITE_SHEETS):
        return False
    return only_shop if sheet_shop_id is None else sheet_shop_id == actor.shop_id
