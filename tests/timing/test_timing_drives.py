"""Primary, secondary and intermediate drives, against turning the wheels tooth by tooth."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.drives import Stage, shaft_turns, tooth_crank_deg

TEETH = st.integers(12, 60)
VEE = (
    Stage("crank", 21, "intermediate", 28),
    Stage("intermediate", 24, "left intake", 36),
    Stage("intermediate", 24, "right intake", 36),
    Stage("left intake", 30, "left exhaust", 30),
    Stage("right intake", 30, "right exhaust", 30),
    Stage("crank", 25, "oil pump", 25, reverses=True),
)


def test_every_cam_of_a_vee_with_primary_and_secondary_chains_turns_at_half_speed():
    turns = shaft_turns(reversed(VEE))

    cams = {name: speed for name, speed in turns.items() if "intake" in name or "exhaust" in name}
    assert len(cams) == 4
    assert set(cams.values()) == {Fraction(1, 2)}
    assert turns["intermediate"] == Fraction(3, 4)
    assert turns["oil pump"] == -1


@given(TEETH, TEETH, TEETH, TEETH)
def test_teeth_that_pass_are_the_same_on_both_wheels_of_a_stage(a, b, c, d):
    turns = shaft_turns([Stage("crank", a, "mid", b), Stage("mid", c, "end", d)])

    assert turns["mid"] * b == a
    assert turns["end"] * d == turns["mid"] * c


@given(TEETH, TEETH)
def test_a_tooth_of_slip_is_worth_its_share_of_the_shafts_turn(crank_teeth, teeth):
    turns = float(shaft_turns([Stage("crank", crank_teeth, "shaft", teeth)])["shaft"])

    # However many teeth the driven wheel has, one tooth is one pitch of chain off the crank.
    assert tooth_crank_deg(teeth, turns) == pytest.approx(360 / crank_teeth)


def test_one_tooth_of_the_secondary_chain_is_worth_more_than_one_of_the_primary():
    primary = tooth_crank_deg(28, float(Fraction(3, 4)))

    assert primary == pytest.approx(17.143, abs=0.0005)
    assert tooth_crank_deg(36) == 20


@pytest.mark.parametrize(
    ("make", "field", "words"),
    [
        (lambda: shaft_turns([Stage("mid", 20, "cam", 40)]), "stages", "not driven from crank"),
        (
            lambda: shaft_turns([*VEE, Stage("crank", 20, "left exhaust", 41)]),
            "stages",
            "driven at 20/41 and at 1/2",
        ),
        (lambda: shaft_turns([("crank", 20, "cam", 40)]), "stages", "Stages only"),
        (lambda: Stage("crank", 20, "crank", 40), "driven", "itself"),
        (lambda: Stage("crank", 20.5, "cam", 40), "driving_teeth", "whole number"),
        (lambda: tooth_crank_deg(36, 0), "turns_per_crank_turn", "more than 0"),
    ],
)
def test_drives_that_cannot_be_are_refused(make, field, words):
    with pytest.raises(InputError, match=words) as refused:
        make()

    assert refused.value.field == field
