"""Phases of every cylinder, for any layout and firing order."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.cycle import (
    CylinderLayout,
    CylinderPlace,
    Stroke,
    companion_cylinder,
    cross_plane_v8,
    degrees_after_firing_tdc,
    degrees_after_last_tdc,
    firing_angles_deg,
    flat_four,
    inline_layout,
    next_to_fire,
    stroke_at,
    vee_layout,
)

ORDERS = st.integers(1, 12).flatmap(lambda n: st.permutations(range(1, n + 1)))
CRANK = st.floats(-2000, 2000)


def piston_directions(layout, crank_deg):
    """Second method: angle between each crankpin and its bore, turned by hand."""
    first = next(place for place in layout.places if place.number == 1)
    turned = first.bank_deg - first.pin_deg + crank_deg
    return {p.number: (turned + p.pin_deg - p.bank_deg) % 360 for p in layout.places}


@settings(max_examples=60)
@given(ORDERS)
def test_firing_angles_rise_along_the_order_by_even_steps(order):
    angles = firing_angles_deg(order)

    start = order.index(1)
    along = [angles[cylinder] for cylinder in (*order[start:], *order[:start])]
    assert along == pytest.approx([720 * i / len(order) for i in range(len(order))])


@settings(max_examples=60)
@given(ORDERS, CRANK)
def test_an_even_layout_brings_each_piston_to_tdc_when_it_fires(order, crank_deg):
    layout = inline_layout(order)

    for cylinder, direction in piston_directions(layout, crank_deg).items():
        since = degrees_after_last_tdc(layout.firing_deg[cylinder], crank_deg)
        assert abs((since - direction + 180) % 360 - 180) < 1e-6


@settings(max_examples=60)
@given(ORDERS.filter(lambda order: len(order) > 1), st.floats(1, 180), st.data())
def test_a_vee_fires_evenly_on_the_crankpins_computed_for_it(order, bank_deg, data):
    left = data.draw(st.sets(st.sampled_from(order), min_size=1, max_size=len(order) - 1))

    layout = vee_layout(order, bank_deg, tuple(left))

    assert layout.intervals_deg == pytest.approx([720 / len(order)] * len(order))
    for cylinder, direction in piston_directions(layout, 0).items():
        assert abs((direction + layout.tdc_deg(cylinder) + 180) % 360 - 180) < 1e-6


@pytest.mark.parametrize(("bank_deg", "splay"), [(60, 60), (90, 30), (120, 0)])
def test_crankpins_of_a_vee_six_splay_by_120_less_the_bank_angle(bank_deg, splay):
    layout = vee_layout((1, 2, 3, 4, 5, 6), bank_deg)

    pairs = [abs(layout.pin_splay_deg(a, b)) for a, b in ((1, 2), (3, 4), (5, 6))]
    assert pairs == pytest.approx([splay] * 3)


def test_a_90_degree_vee_six_on_three_shared_pins_fires_unevenly():
    places = tuple(
        CylinderPlace(number, 45 if number % 2 == 0 else -45, 120 * ((number - 1) // 2))
        for number in range(1, 7)
    )

    layout = CylinderLayout(places, (1, 2, 3, 4, 5, 6))

    assert layout.intervals_deg == pytest.approx((90, 150, 90, 150, 90, 150))


@pytest.mark.parametrize(
    "order",
    [(1, 8, 4, 3, 6, 5, 7, 2), (1, 5, 4, 2, 6, 3, 7, 8), (1, 3, 7, 2, 6, 5, 4, 8)],
)
def test_a_cross_plane_v8_has_four_pins_a_quarter_turn_apart(order):
    layout = cross_plane_v8(order)

    pins = sorted({place.pin_deg for place in layout.places})
    assert pins == pytest.approx([0, 90, 180, 270])
    assert layout.intervals_deg == pytest.approx([90] * 8)


def test_an_order_that_no_cross_plane_crank_can_fire_is_refused():
    with pytest.raises(InputError, match="no cross-plane") as refused:
        cross_plane_v8((1, 2, 3, 4, 5, 6, 7, 8))

    assert refused.value.field == "firing_order"


@pytest.mark.parametrize("order", [(1, 3, 2, 4), (1, 4, 3, 2)])
def test_opposed_pistons_of_a_flat_four_move_out_together(order):
    layout = flat_four(order)

    banks = {place.number: place.bank_deg for place in layout.places}
    pins = {place.number: place.pin_deg for place in layout.places}
    pairs = [
        (a, b)
        for a, b in itertools.combinations((1, 2, 3, 4), 2)
        if layout.tdc_deg(a) == layout.tdc_deg(b)
    ]
    assert len(pairs) == 2
    for a, b in pairs:
        assert banks[a] == -banks[b]
        assert abs(pins[a] - pins[b]) == 180
    assert layout.intervals_deg == (180, 180, 180, 180)


@given(st.floats(0, 719), CRANK)
def test_strokes_follow_each_other_and_last_half_a_turn(firing, crank_deg):
    own = degrees_after_firing_tdc(firing, crank_deg)

    here, later = stroke_at(firing, crank_deg), stroke_at(firing, crank_deg + 180)

    assert 0 <= own < 720
    assert list(Stroke).index(here) == int(own // 180)
    # A hair before a dead centre the half turn can round onto it; the order still holds.
    expected = list(Stroke)[(list(Stroke).index(here) + 1) % 4]
    assert later is expected or own % 180 > 179.999999 or own % 180 < 1e-6


@settings(max_examples=60)
@given(ORDERS)
def test_the_companion_of_a_companion_is_the_cylinder_itself(order):
    firing = firing_angles_deg(order)

    for cylinder in order:
        companion = companion_cylinder(firing, cylinder)
        assert (companion is None) == (len(order) % 2 == 1)
        if companion is not None:
            assert companion_cylinder(firing, companion) == cylinder
            assert abs(firing[companion] - firing[cylinder]) == pytest.approx(360)


@settings(max_examples=60)
@given(ORDERS)
def test_next_to_fire_goes_once_round_all_cylinders(order):
    seen = [1]
    while len(seen) < len(order):
        seen.append(next_to_fire(order, seen[-1]))

    assert sorted(seen) == sorted(order)
    assert next_to_fire(order, seen[-1]) == 1


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ((1, 3, 3, 2), "names cylinder 3 more than once"),
        ((1, 3, 5, 2), "leaves out cylinder 4"),
        ((), "is empty"),
        ("1342", "is not a list"),
        ((1, 3, 4, 2.5), "is not a whole number"),
        ((1, 3, 4, True), "is not a whole number"),
        ((0, 1, 2), "must be at least 1"),
        (1342, "is not a list"),
    ],
)
def test_a_firing_order_that_is_no_permutation_is_refused_with_its_reason(order, words):
    with pytest.raises(InputError, match=words) as refused:
        inline_layout(order)

    assert refused.value.field == "firing_order"


def test_a_crank_that_cannot_fire_in_the_order_within_two_turns_is_refused():
    places = (CylinderPlace(1), CylinderPlace(2, pin_deg=90), CylinderPlace(3, pin_deg=180))

    CylinderLayout(places, (1, 3, 2))
    with pytest.raises(InputError, match="two turns"):
        CylinderLayout((*places, CylinderPlace(4, pin_deg=270)), (1, 2, 3, 4))


@pytest.mark.parametrize(
    ("places", "order", "field"),
    [
        ((CylinderPlace(1), CylinderPlace(1)), (1,), "places"),
        ((CylinderPlace(2), CylinderPlace(3)), (2, 3), "places"),
        ((), (1,), "places"),
        ((1, 2), (1, 2), "places"),
        ((CylinderPlace(1), CylinderPlace(2)), (1, 3), "firing_order"),
    ],
)
def test_a_layout_that_does_not_hold_together_is_refused(places, order, field):
    with pytest.raises(InputError) as refused:
        CylinderLayout(places, order)

    assert refused.value.field == field


@pytest.mark.parametrize("intervals", [(180, 180), (180, 180, 180, 170), (-180, 360, 360, 180)])
def test_intervals_that_do_not_make_a_cycle_are_refused(intervals):
    with pytest.raises(InputError) as refused:
        firing_angles_deg((1, 3, 4, 2), intervals)

    assert refused.value.field == "intervals_deg"


def test_uneven_intervals_place_cylinder_one_at_zero_wherever_it_stands_in_the_order():
    angles = firing_angles_deg((2, 1, 3), (100, 200, 420))

    assert angles == {2: 620, 1: 0, 3: 200}


@pytest.mark.parametrize("ask", [
    lambda: inline_layout((1, 2, 3)).tdc_deg(4),
    lambda: next_to_fire((1, 2, 3), 4),
    lambda: companion_cylinder({1: 0.0, 2: 360.0}, 4),
])  # fmt: skip
def test_a_cylinder_the_engine_lacks_is_refused(ask):
    with pytest.raises(InputError, match="is not a cylinder") as refused:
        ask()

    assert (refused.value.field, refused.value.value) == ("cylinder", 4)
