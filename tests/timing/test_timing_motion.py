"""The motion table says, at every step, what the modules say one by one."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import inline_layout, vee_layout
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.motion import CamShaft, RunningChain, TurningWheel, motion_table
from quizsvc.timing.sensors import ToneWheel

SLIDER = SliderCrank(86, 143)
SIX = vee_layout((1, 2, 3, 4, 5, 6), 60)
INTAKE = ValveRoom("intake", LiftCurve(345, 590, 9.5), 4.5, 12)
EXHAUST = ValveRoom("exhaust", LiftCurve(130, 375, 9), 4.5, 12)
CAMS = (
    CamShaft("left intake", (2, 4, 6), (INTAKE,), 20),
    CamShaft("left exhaust", (2, 4, 6), (EXHAUST,), 20),
    CamShaft("right intake", (1, 3, 5), (INTAKE,), 20),
    CamShaft("right exhaust", (1, 3, 5), (EXHAUST,), 20),
)
WHEELS = (
    TurningWheel("crank wheel", 180, 1),
    TurningWheel("intake wheel", 15, 0.5, shaft="left intake"),
    TurningWheel("roller", 0, -1.2),
)


def table(**changes):
    given_values = {
        "wheels": WHEELS,
        "chains": (RunningChain("primary", 18, 126),),
        "sensors": {"crank": ToneWheel(60, 2, 114)},
        **changes,
    }
    return motion_table(SIX, SLIDER, CAMS, **given_values)


def test_the_table_covers_the_cycle_once():
    whole, half = table(), table(step_deg=0.5)

    assert whole.crank_deg == tuple(range(720))
    assert len(half.crank_deg) == 1440
    assert half.drop_mm[3][::2] == whole.drop_mm[3]
    columns = [
        *whole.drop_mm.values(), *whole.lift_mm.values(), *whole.gap_mm.values(),
        *whole.wheel_deg.values(), *whole.chain_pitches.values(), *whole.signals.values(),
    ]  # fmt: skip
    assert {len(column) for column in columns} == {720}
    assert set(whole.lift_mm) == {(c, v) for c in range(1, 7) for v in ("intake", "exhaust")}


@settings(max_examples=15)
@given(st.integers(0, 719), st.integers(-6, 6))
def test_each_row_is_what_the_core_says_of_that_angle(at, teeth):
    rows = table(slipped={"left intake": teeth})

    for cylinder in range(1, 7):
        assert rows.drop_mm[cylinder][at] == pytest.approx(
            SLIDER.drop_mm(at - SIX.tdc_deg(cylinder)), abs=1e-9
        )
        own = at - SIX.firing_deg[cylinder]
        late = teeth * 20 if cylinder in (2, 4, 6) else 0
        lift = INTAKE.curve.lift_mm(own - late)
        assert rows.lift_mm[cylinder, "intake"][at] == pytest.approx(lift, abs=1e-6)
        assert rows.gap_mm[cylinder, "intake"][at] == pytest.approx(
            SLIDER.drop_mm(own) + 4.5 - lift * math.cos(math.radians(12)), abs=1e-6
        )
        assert rows.lift_mm[cylinder, "exhaust"][at] == pytest.approx(EXHAUST.curve.lift_mm(own))
    assert rows.wheel_deg["crank wheel"][at] == pytest.approx((180 + at) % 360)
    assert rows.wheel_deg["intake wheel"][at] == pytest.approx((15 + (at - teeth * 20) / 2) % 360)
    assert rows.wheel_deg["roller"][at] == pytest.approx(-1.2 * at % 360, abs=1e-6)
    assert rows.chain_pitches["primary"][at] == pytest.approx(at / 360 * 18)
    assert rows.signals["crank"][at] == ToneWheel(60, 2, 114).level(at)


@pytest.mark.parametrize("teeth", [-4, -3, 0, 3, 4, 5])
def test_contacts_are_where_the_gap_is_used_up(teeth):
    rows = table(slipped={"left intake": teeth}, step_deg=0.5)

    for key, gaps in rows.gap_mm.items():
        met = [c for c in rows.contacts if (c.cylinder, c.valve) == key]
        for crank_deg, gap in zip(rows.crank_deg, gaps, strict=True):
            inside = any(
                (crank_deg - c.from_deg) % 720 < (c.to_deg - c.from_deg) % 720 for c in met
            )
            assert inside == (gap < 0) or abs(gap) < 0.01
    assert bool(rows.contacts) == (teeth < -1)
    assert {c.cylinder for c in rows.contacts} <= {2, 4, 6}
    assert rows.slipped == {"left intake": teeth}


def test_a_shaft_made_late_by_a_drive_before_it_lags_on_top_of_its_own_slip():
    rows = table(slipped={"left intake": 1}, late_deg={"left intake": 5, "left exhaust": 5})

    plain = table()
    assert rows.lift_mm[2, "intake"][325:] == pytest.approx(plain.lift_mm[2, "intake"][300:-25])
    assert rows.lift_mm[2, "exhaust"][305:] == pytest.approx(plain.lift_mm[2, "exhaust"][300:-5])
    assert rows.wheel_deg["intake wheel"][25] == pytest.approx(15)
    assert rows.lift_mm[1, "intake"] == plain.lift_mm[1, "intake"]


def test_a_chain_with_fewer_pins_than_pass_starts_again():
    chain = RunningChain("secondary", 40, 30)

    assert chain.moved_pitches(360) == 10
    assert chain.moved_pitches(0) == chain.moved_pitches(270) == 0


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: table(step_deg=0.7), "step_deg"),
        (lambda: table(step_deg=0), "step_deg"),
        (lambda: table(step_deg=math.nan), "step_deg"),
        (lambda: table(slipped={"middle": 1}), "slipped"),
        (lambda: table(slipped={"left intake": 1.5}), "slipped"),
        (lambda: table(late_deg={"middle": 1.0}), "late_deg"),
        (lambda: CamShaft("a", (1,), (INTAKE,), 0), "tooth_deg"),
        (lambda: CamShaft("a", (1,), (7,), 20), "rooms"),
        (lambda: CamShaft("a", ("1",), (INTAKE,), 20), "cylinders"),
        (lambda: TurningWheel("a", math.inf, 1), "at_deg"),
        (lambda: RunningChain("a", 0, 90), "pitches_per_turn"),
        (
            lambda: motion_table(
                inline_layout((1, 3, 4, 2)), SLIDER, [CamShaft("a", (5,), (INTAKE,), 20)]
            ),
            "cylinders",
        ),
        (
            lambda: motion_table(
                SIX, SLIDER, [*CAMS, CamShaft("more", (1,), (INTAKE.retarded(5),), 20)]
            ),
            "cams",
        ),
    ],
)
def test_a_table_that_cannot_be_made_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
