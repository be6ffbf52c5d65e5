"""The slider-crank against trigonometry solved another way."""

import math

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from quizsvc.errors import InputError
from quizsvc.timing.crank import (
    SliderCrank,
    compression_ratio,
    cylinder_cc,
    least_drop,
    safe_position,
    safe_positions,
    stop_angle_deg,
    wheel_error_deg,
)
from quizsvc.timing.cycle import (
    CylinderLayout,
    CylinderPlace,
    cross_plane_v8,
    flat_four,
    inline_layout,
    vee_layout,
)

SLIDERS = st.builds(
    lambda stroke, ratio, offset: SliderCrank(stroke, stroke * ratio, offset),
    st.floats(40, 120),
    st.floats(1.2, 2.5),
    st.floats(-5, 5),
)
ANGLES = st.floats(-720, 720)


def height_by_root(slider, throw_deg):
    """Second method: the pin's height at which the rod is just as long as it is."""
    across = slider.throw_mm * math.sin(math.radians(throw_deg))
    up = slider.throw_mm * math.cos(math.radians(throw_deg))
    return brentq(
        lambda y: math.hypot(slider.pin_offset_mm - across, y - up) - slider.rod_mm,
        up, up + slider.rod_mm + 1, xtol=1e-12,
    )  # fmt: skip


def extremes_by_search(slider):
    """Second method: highest and lowest pin height by bounded search, throw angles in degrees."""
    top = minimize_scalar(
        lambda a: -height_by_root(slider, a), bounds=(-40, 40), method="bounded",
        options={"xatol": 1e-9},
    )  # fmt: skip
    low = minimize_scalar(
        lambda a: height_by_root(slider, a), bounds=(140, 220), method="bounded",
        options={"xatol": 1e-9},
    )  # fmt: skip
    return (top.x, -top.fun), (low.x, low.fun)


# Second method: solved again by root finding below.
@pytest.mark.parametrize(("deg", "inches"), [(60, 1.0728), (90, 2.0121)])
def test_drop_with_a_stroke_of_3_48_and_a_rod_of_5_7_inches(deg, inches):
    slider = SliderCrank(3.48, 5.7)

    assert slider.drop_mm(deg) == pytest.approx(inches, abs=0.00005)
    assert slider.drop_mm(deg) == pytest.approx(
        height_by_root(slider, 0) - height_by_root(slider, deg), abs=1e-9
    )


@pytest.mark.parametrize(
    ("deg", "mm"), [(10, 0.848), (30, 7.386), (45, 15.864), (60, 26.434), (90, 49.618)]
)
def test_drop_with_a_throw_of_43_and_a_rod_of_143_mm(deg, mm):
    slider = SliderCrank(86, 143)

    assert slider.drop_mm(deg) == pytest.approx(mm, abs=0.0005)
    assert slider.angle_for_drop_deg(slider.drop_mm(deg)) == pytest.approx(deg)


def test_mid_stroke_comes_before_90_degrees():
    slider = SliderCrank(86, 143)

    assert slider.angle_for_drop_deg(43) == pytest.approx(81.35, abs=0.005)
    assert brentq(lambda a: slider.drop_mm(a) - 43, 0, 180) == pytest.approx(
        slider.angle_for_drop_deg(43)
    )


def test_pin_offset_lengthens_the_stroke_and_moves_the_dead_centres():
    slider = SliderCrank(86, 143, 1)

    assert slider.travel_mm == pytest.approx(86.0023, abs=0.00005)
    assert slider.tdc_deg == pytest.approx(0.308, abs=0.0005)
    assert slider.bdc_deg == pytest.approx(180.573, abs=0.0005)
    (top_deg, top), (low_deg, low) = extremes_by_search(slider)
    assert (top_deg, low_deg) == pytest.approx((slider.tdc_deg, slider.bdc_deg), abs=1e-3)
    assert top - low == pytest.approx(slider.travel_mm, abs=1e-9)


@settings(max_examples=80)
@given(SLIDERS, ANGLES)
def test_drop_equals_the_height_found_by_root_finding(slider, atdc_deg):
    top = height_by_root(slider, slider.tdc_deg)

    by_root = top - height_by_root(slider, slider.tdc_deg + atdc_deg)

    assert slider.drop_mm(atdc_deg) == pytest.approx(by_root, abs=1e-8)


@settings(max_examples=80)
@given(SLIDERS, ANGLES)
def test_drop_repeats_every_turn_and_stays_within_the_travel(slider, atdc_deg):
    drop = slider.drop_mm(atdc_deg)

    assert slider.drop_mm(atdc_deg + 360) == pytest.approx(drop, abs=1e-9)
    assert 0 <= drop <= slider.travel_mm + 1e-9


@settings(max_examples=80)
@given(SLIDERS, st.floats(0, 1))
def test_the_angle_for_a_drop_gives_that_drop_on_the_way_down(slider, part):
    drop = part * slider.travel_mm

    angle = slider.angle_for_drop_deg(drop)

    assert 0 <= angle <= slider.bdc_deg - slider.tdc_deg + 1e-6
    assert slider.drop_mm(angle) == pytest.approx(drop, abs=1e-7)


@settings(max_examples=40)
@given(SLIDERS, st.floats(0, 360), st.floats(500, 8000))
def test_speed_is_the_change_of_drop_over_time(slider, atdc_deg, rpm):
    step = 1e-3
    change = slider.drop_mm(atdc_deg + step) - slider.drop_mm(atdc_deg - step)
    seconds = 2 * step / (6 * rpm)

    # Tolerance: what a central difference over 0.002° leaves at these speeds.
    assert slider.speed_m_s(atdc_deg, rpm) == pytest.approx(change / seconds / 1000, abs=1e-3)


@settings(max_examples=30)
@given(SLIDERS)
def test_peak_speed_stands_where_a_search_finds_it(slider):
    found = minimize_scalar(
        lambda a: -slider.speed_m_s(a, 1000), bounds=(1, 170), method="bounded",
        options={"xatol": 1e-8},
    )  # fmt: skip

    assert slider.peak_speed_deg() == pytest.approx(found.x, abs=1e-3)


def test_drop_and_speed_agree_with_the_formula_differentiated_by_algebra():
    a, r, rod, e = sympy.symbols("a r L e", positive=True)
    height = r * sympy.cos(a) + sympy.sqrt(rod**2 - (r * sympy.sin(a) - e) ** 2)
    values = {r: 43, rod: 143, e: 1}
    slope = sympy.lambdify(a, -sympy.diff(height, a).subs(values))
    slider = SliderCrank(86, 143, 1)

    for atdc_deg in range(0, 360, 15):
        per_radian = slope(math.radians(atdc_deg + slider.tdc_deg))
        by_algebra = per_radian * 3000 * math.tau / 60 / 1000
        assert slider.speed_m_s(atdc_deg, 3000) == pytest.approx(by_algebra, abs=1e-9)


LAYOUTS = {
    "inline three": inline_layout((1, 3, 2)),
    "inline four": inline_layout((1, 3, 4, 2)),
    "inline five": inline_layout((1, 2, 4, 5, 3)),
    "inline six": inline_layout((1, 5, 3, 6, 2, 4)),
    "60 degree vee six": vee_layout((1, 2, 3, 4, 5, 6), 60),
    "90 degree vee six with splayed pins": vee_layout((1, 6, 5, 4, 3, 2), 90),
    "90 degree vee six on shared pins": CylinderLayout(
        tuple(
            CylinderPlace(n, 45 if n % 2 == 0 else -45, 120 * ((n - 1) // 2)) for n in range(1, 7)
        ),
        (1, 2, 3, 4, 5, 6),
    ),
    "cross-plane eight": cross_plane_v8((1, 8, 4, 3, 6, 5, 7, 2)),
    "flat four": flat_four((1, 3, 2, 4)),
    "single": inline_layout((1,)),
    "twin, pistons together": CylinderLayout((CylinderPlace(1), CylinderPlace(2)), (1, 2)),
}


def brute_force_safe_positions(layout, slider, step_deg=0.02):
    """Second method: drops of all cylinders at each of 18,000 angles, by vectors."""
    first = next(place for place in layout.places if place.number == 1)
    angles = np.arange(0, 360, step_deg)
    least = np.full(angles.shape, np.inf)
    for place in layout.places:
        past = first.bank_deg - first.pin_deg + place.pin_deg - place.bank_deg + slider.tdc_deg
        turned = np.radians(angles + past)
        across = slider.throw_mm * np.sin(turned) - slider.pin_offset_mm
        height = slider.throw_mm * np.cos(turned) + np.sqrt(slider.rod_mm**2 - across**2)
        top = math.sqrt((slider.rod_mm + slider.throw_mm) ** 2 - slider.pin_offset_mm**2)
        least = np.minimum(least, top - height)
    return angles, least


@pytest.mark.parametrize("offset", [0.0, 1.0, -0.8])
@pytest.mark.parametrize("name", LAYOUTS)
def test_safe_position_is_the_one_brute_force_finds(name, offset):
    layout, slider = LAYOUTS[name], SliderCrank(86, 143, offset)

    positions = safe_positions(layout, slider)

    angles, least = brute_force_safe_positions(layout, slider)
    # A piston moves at most 0.9 mm per degree: half a grid step is 0.009 mm.
    assert positions[0].drop_mm == pytest.approx(least.max(), abs=0.01)
    best = angles[least > least.max() - 0.01]
    for position in positions:
        assert np.abs((best - position.atdc_deg + 180) % 360 - 180).min() < 0.05
    for angle in best:  # at BDC the drop is so flat that 0.01 mm is 1.5°
        assert min(abs((p.atdc_deg - angle + 180) % 360 - 180) for p in positions) < 1.5


@settings(max_examples=25)
@given(
    st.integers(2, 8).flatmap(lambda n: st.permutations(range(1, n + 1))),
    st.floats(10, 180),
    st.floats(-1, 1),
)
def test_safe_position_of_any_vee_is_the_one_brute_force_finds(order, bank_deg, offset):
    layout, slider = vee_layout(order, bank_deg), SliderCrank(90, 150, offset)

    position = safe_position(layout, slider)

    _, least = brute_force_safe_positions(layout, slider, step_deg=0.05)
    assert position.drop_mm == pytest.approx(least.max(), abs=0.025)
    assert position.drop_mm >= least.max() - 1e-9


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_other_angle_keeps_the_shallowest_piston_deeper(name):
    layout, slider = LAYOUTS[name], SliderCrank(86, 143)
    safe = safe_position(layout, slider)

    assert least_drop(layout, slider, safe.atdc_deg).cylinders == safe.cylinders
    for crank_deg in range(720):
        assert least_drop(layout, slider, crank_deg).drop_mm <= safe.drop_mm + 1e-6


def test_an_uneven_engine_is_safe_only_in_its_wider_gaps():
    positions = safe_positions(LAYOUTS["90 degree vee six on shared pins"], SliderCrank(86, 143))

    gaps = sorted(
        {round(LAYOUTS["90 degree vee six on shared pins"].tdc_deg(c), 6) for c in range(1, 7)}
    )
    assert gaps == [0, 90, 120, 210, 240, 330]
    assert [p.atdc_deg for p in positions] == pytest.approx([45, 165, 285])


def test_compression_ratio_counts_every_part_of_the_space_left():
    swept = cylinder_cc(86, 86)

    ratio = compression_ratio(
        swept, 45, gasket_cc=cylinder_cc(87, 1), deck_cc=cylinder_cc(86, -0.2), dish_cc=-3
    )

    rest = 45 + math.pi / 4 * 8.7**2 * 0.1 - math.pi / 4 * 8.6**2 * 0.02 - 3
    assert ratio == pytest.approx(swept / rest + 1)


@given(st.floats(5, 170), st.floats(-4, 4))
def test_a_wheel_set_wrong_is_found_out_by_the_stop(stop_deg, error_deg):
    before, after = stop_deg + error_deg, stop_deg - error_deg

    assert wheel_error_deg(before, after) == pytest.approx(error_deg, abs=1e-9)
    assert stop_angle_deg(before, after) == pytest.approx(stop_deg)


@pytest.mark.parametrize(
    ("make", "field", "words"),
    [
        (lambda: SliderCrank(86, 43), "rod_mm", "longer than throw"),
        (lambda: SliderCrank(86, 50, 7), "rod_mm", "throw \\+ offset = 50"),
        (lambda: SliderCrank(86, 50, -8), "rod_mm", "throw \\+ offset = 51"),
        (lambda: SliderCrank(0, 143), "stroke_mm", "more than 0"),
        (lambda: SliderCrank(86, math.nan), "rod_mm", "finite"),
        (lambda: SliderCrank(86, 143).angle_for_drop_deg(86.1), "drop_mm", "at most 86"),
        (lambda: SliderCrank(86, 143).angle_for_drop_deg(-1), "drop_mm", "at least 0"),
        (lambda: compression_ratio(450, 5, dish_cc=-6), None, "more than 0"),
        (lambda: wheel_error_deg(10, -10), "reading_after_deg", "no angle"),
    ],
)
def test_what_no_crank_can_do_is_refused(make, field, words):
    with pytest.raises(InputError, match=words) as refused:
        make()

    assert field in (None, refused.value.field)
    assert refused.value.value is not None
