"""One's own second factor: set up, turned on by a first code, renewed, turned off."""

from __future__ import annotations

from datetime import timedelta

import pytest
from second_steps import (
    HERE,
    STEP,
    code_of,
    finish,
    half_way,
    light_hashes,
    proof,
    turned_on,
    wrong_code_of,
)
from sqlalchemy import text
from workshop import NOON, PASSWORD

from quizsvc.errors import ConflictError, NotAllowedError
from quizsvc.rules.second_factor import RECOVERY_CODES, plain_recovery_code
from quizsvc.services import accounts, second_factor
from quizsvc.services.guess_brake import BrakedError
from quizsvc.services.second_factor import Proof
from quizsvc.services.typed_codes import TypedCode

LATER = NOON + timedelta(minutes=10)
__all__ = ["light_hashes"]  # a fixture


def everything(house) -> str:
    """Return what lies in the tables of the second factor."""
    with house.read() as connection:
        return "".join(
            str(row)
            for table in ("second_factor", "recovery_code")
            for row in connection.execute(text(f"SELECT * FROM {table}"))  # noqa: S608
        )


def actions(house) -> list[str]:
    with house.read() as connection:
        rows = connection.execute(text("SELECT action FROM audit_entry ORDER BY number"))
        return [action for action in rows.scalars() if "factor" in action or "codes" in action]


def test_a_secret_that_was_only_begun_counts_for_nothing(house, ana):
    second_factor.begin(house, ana, now=NOON)

    assert isinstance(accounts.sign_in(house, "ana", PASSWORD, now=NOON, source=HERE), str)
    assert second_factor.standing(house, ana, now=NOON).on_since is None


def test_the_secret_is_shown_to_scan_and_to_type_and_lies_there_sealed(house, ana):
    second_factor.begin(house, ana, now=NOON)

    shown = second_factor.new_secret(house, ana, now=NOON)

    secret = shown.groups.replace(" ", "")
    assert len(secret) == 32
    assert shown.groups.count(" ") == 7
    assert f"secret={secret}" in shown.address
    assert "ana" in shown.address
    assert secret not in everything(house)


def test_beginning_again_draws_another_secret(house, ana):
    second_factor.begin(house, ana, now=NOON)
    first = second_factor.new_secret(house, ana, now=NOON)
    second_factor.begin(house, ana, now=NOON)

    assert second_factor.new_secret(house, ana, now=NOON).groups != first.groups


def test_a_first_right_code_turns_it_on_and_gives_ten_recovery_codes(house, ana):
    codes = turned_on(house, ana)

    standing = second_factor.standing(house, ana, now=LATER)
    assert (standing.on_since, standing.codes_left) == (NOON, 10)
    assert len(set(codes)) == RECOVERY_CODES
    assert all(len(plain_recovery_code(code)) == 16 for code in codes)
    assert actions(house) == ["second factor turned on"]


def test_neither_secret_nor_recovery_codes_are_shown_or_stored_in_the_open_again(house, ana):
    codes = turned_on(house, ana)

    assert second_factor.new_secret(house, ana, now=LATER) is None
    stored = everything(house).upper()
    assert not any(code in stored or code.replace("-", "") in stored for code in codes)


@pytest.mark.parametrize(
    ("password", "right_code"), [("guess", True), (PASSWORD, False), ("guess", False), ("", False)]
)
def test_password_and_code_must_both_be_right_and_it_is_not_said_which(
    house, ana, password, right_code
):
    second_factor.begin(house, ana, now=NOON)
    code = code_of(house, ana, NOON) if right_code else wrong_code_of(house, ana, NOON)

    with pytest.raises(NotAllowedError, match="are not both right"):
        second_factor.turn_on(house, ana, Proof(password, TypedCode(code)), now=NOON, source=HERE)
    assert second_factor.standing(house, ana, now=NOON).on_since is None


def test_a_secret_shown_half_an_hour_ago_counts_no_more(house, ana):
    second_factor.begin(house, ana, now=NOON)
    late = NOON + timedelta(minutes=30)
    shown = proof(house, ana, late)

    with pytest.raises(ConflictError, match="no second factor waiting"):
        second_factor.turn_on(house, ana, shown, now=late, source=HERE)
    assert second_factor.new_secret(house, ana, now=late) is None


def test_one_that_is_on_is_not_begun_anew_by_whoever_holds_the_session(house, ana):
    turned_on(house, ana)
    before = everything(house)

    with pytest.raises(ConflictError, match="is on already"):
        second_factor.begin(house, ana, now=LATER)
    with pytest.raises(ConflictError, match="is on already"):
        second_factor.turn_on(house, ana, proof(house, ana, LATER), now=LATER, source=HERE)
    assert everything(house) == before


def test_new_recovery_codes_make_the_former_ones_worthless(house, ana):
    former = turned_on(house, ana)

    new = second_factor.renew_recovery_codes(
        house, ana, proof(house, ana, LATER), now=LATER, source=HERE
    )

    with pytest.raises(NotAllowedError):
        finish(house, half_way(house, now=LATER), recovery=former[0], now=LATER)
    assert finish(house, half_way(house, now=LATER), recovery=new[0], now=LATER)
    assert actions(house)[-1] == "recovery codes made"


def test_it_is_turned_off_by_password_and_code(house, ana):
    turned_on(house, ana)

    second_factor.turn_off(house, ana, proof(house, ana, LATER), now=LATER, source=HERE)

    assert isinstance(accounts.sign_in(house, "ana", PASSWORD, now=LATER, source=HERE), str)
    assert everything(house) == ""
    assert actions(house)[-1] == "second factor turned off"


def test_who_lost_the_phone_turns_it_off_with_a_recovery_code(house, ana):
    codes = turned_on(house, ana)
    shown = proof(house, ana, LATER, code="", recovery=codes[0])

    second_factor.turn_off(house, ana, shown, now=LATER, source=HERE)

    assert second_factor.standing(house, ana, now=LATER).on_since is None


@pytest.mark.parametrize("deed", [second_factor.turn_off, second_factor.renew_recovery_codes])
@pytest.mark.parametrize("wrong", ["password", "code", "used code"])
def test_a_stolen_session_alone_changes_nothing(house, ana, deed, wrong):
    turned_on(house, ana)
    before = everything(house)
    shown = {
        "password": proof(house, ana, LATER, password="guess"),
        "code": proof(house, ana, LATER, code=wrong_code_of(house, ana, LATER)),
        "used code": proof(house, ana, LATER, code=code_of(house, ana, NOON)),
    }[wrong]

    with pytest.raises(NotAllowedError, match="are not both right"):
        deed(house, ana, shown, now=LATER, source=HERE)
    assert everything(house) == before


def test_proving_is_braked_too(house, ana):
    turned_on(house, ana)
    for _ in range(5):
        with pytest.raises(NotAllowedError):
            second_factor.turn_off(
                house, ana, proof(house, ana, LATER, password="guess"), now=LATER, source=HERE
            )

    with pytest.raises(BrakedError, match="in 15 minutes"):
        second_factor.turn_off(house, ana, proof(house, ana, LATER), now=LATER, source=HERE)


def test_a_code_used_to_sign_in_is_not_good_for_turning_it_off(house, ana):
    turned_on(house, ana)
    finish(house, half_way(house, now=LATER), code_of(house, ana, LATER), now=LATER)

    with pytest.raises(NotAllowedError):
        second_factor.turn_off(house, ana, proof(house, ana, LATER), now=LATER, source=HERE)
    soon = LATER + STEP
    second_factor.turn_off(house, ana, proof(house, ana, soon), now=soon, source=HERE)
