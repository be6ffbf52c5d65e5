"""The lift law against the polynomial that its conditions determine."""

import math

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.lift import LiftCurve, lift_curve
from quizsvc.timing.valves import ValveEvents

CURVES = st.builds(
    lambda opened, lasts, lift: LiftCurve(opened, opened + lasts, lift),
    st.floats(0, 719),
    st.floats(120, 400),
    st.floats(4, 14),
)


def law_from_its_conditions():
    """Second method: the quintic with no lift, speed or acceleration at both ends but full lift."""
    u = sympy.symbols("u")
    unknown = sympy.symbols("c0:6")
    s = sum(c * u**i for i, c in enumerate(unknown))
    conditions = [sympy.diff(s, u, n).subs(u, 0) for n in range(3)]
    conditions += [sympy.diff(s, u, n).subs(u, 1) - (1 if n == 0 else 0) for n in range(3)]
    return sympy.lambdify(u, s.subs(sympy.solve(conditions, unknown)))


def test_the_rise_is_the_3_4_5_polynomial():
    # Norton, Design of Machinery, chapter on cam design: s = h(10u³ − 15u⁴ + 6u⁵).
    law, curve = law_from_its_conditions(), LiftCurve(300, 500, 9)

    for i in range(101):
        assert curve.lift_mm(300 + i) == pytest.approx(9 * law(i / 100), abs=1e-9)
        assert curve.lift_mm(500 - i) == pytest.approx(9 * law(i / 100), abs=1e-9)


@given(CURVES, st.floats(-720, 1440))
def test_lift_repeats_every_cycle_and_stays_between_seat_and_full_lift(curve, deg):
    lift = curve.lift_mm(deg)

    assert 0 <= lift <= curve.max_lift_mm + 1e-9
    assert curve.lift_mm(deg + 720) == pytest.approx(lift, abs=1e-6)
    assert (lift > 0) <= ((deg - curve.open_deg) % 720 < curve.duration_deg + 1e-6)


@given(CURVES)
def test_full_lift_stands_at_the_peak_and_the_curve_is_symmetrical(curve):
    assert curve.lift_mm(curve.peak_deg) == pytest.approx(curve.max_lift_mm)
    for off in (5, 20, 55):
        assert curve.lift_mm(curve.peak_deg + off) == pytest.approx(
            curve.lift_mm(curve.peak_deg - off), abs=1e-6
        )


@given(CURVES, st.floats(0.02, 0.98))
def test_speed_is_the_change_of_lift(curve, part):
    deg, step = curve.open_deg + part * curve.duration_deg, 1e-4

    change = (curve.lift_mm(deg + step) - curve.lift_mm(deg - step)) / (2 * step)

    assert curve.velocity_mm_per_deg(deg) == pytest.approx(change, abs=1e-5)


@given(CURVES, st.floats(0, 1))
def test_the_angles_of_a_lift_have_that_lift(curve, part):
    lift = part * curve.max_lift_mm

    opening, closing = curve.angles_at_lift_deg(lift)

    assert curve.lift_mm(opening) == pytest.approx(lift, abs=1e-6)
    assert curve.lift_mm(closing) == pytest.approx(lift, abs=1e-6)


@given(CURVES, st.floats(-200, 200), st.floats(0, 720))
def test_a_late_curve_is_the_same_curve_later(curve, late, deg):
    assert curve.retarded(late).lift_mm(deg) == pytest.approx(curve.lift_mm(deg - late), abs=1e-6)


@given(st.floats(0.1, 1.5), st.sampled_from(["intake", "exhaust"]))
def test_events_stated_at_a_checking_lift_are_met_at_that_lift(at_lift, valve):
    events = ValveEvents(5, 45, 40, 10)

    curve = lift_curve(events, valve, 9.5, at_lift_mm=at_lift)

    assert curve.lift_mm(events.open_deg(valve)) == pytest.approx(at_lift, abs=1e-6)
    assert curve.lift_mm(events.close_deg(valve)) == pytest.approx(at_lift, abs=1e-6)
    assert curve.duration_deg > events.duration_deg(valve)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: LiftCurve(340, 600, 0), "max_lift_mm"),
        (lambda: LiftCurve(340, 340, 9), "close_deg"),
        (lambda: LiftCurve(340, 1060, 9), "close_deg"),
        (lambda: LiftCurve(math.inf, 600, 9), "open_deg"),
        (lambda: LiftCurve(340, 600, 9).lift_mm(math.nan), "cycle_deg"),
        (lambda: LiftCurve(340, 600, 9).angles_at_lift_deg(9.1), "lift_mm"),
        (lambda: lift_curve(ValveEvents(5, 45, 40, 10), "intake", 9, at_lift_mm=9), "at_lift_mm"),
        (lambda: lift_curve(ValveEvents(90, 90, 40, 10), "intake", 9, at_lift_mm=8), "at_lift_mm"),
    ],
)
def test_a_lift_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
