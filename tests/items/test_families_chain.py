"""Chain families against published values."""

from __future__ import annotations

import math

import pytest
from drawn_items import items_of

from quizsvc.items.chain_drive import PITCHES_MM, TwoSprockets
from quizsvc.items.families.centre_distance import Closed
from quizsvc.items.families.chain_length import length_pitches
from quizsvc.items.families.pitch_diameter import Sprocket
from quizsvc.items.families.speed_ripple import Ripple
from quizsvc.items.families.strand_order import Loop
from quizsvc.items.families.tight_strand import Pull
from quizsvc.items.families.wrap_angle import Wrapped
from quizsvc.items.model import Kind

HALF_INCH_MM = 12.7


@pytest.mark.parametrize(
    ("pitch", "teeth", "diameter", "within"),
    [
        # Published, Mott, Machine Elements in Mechanical Design, 4th ed., Ex. 7-3 (inches).
        (0.5, 17, 2.721, 0.0005),
        (0.5, 65, 10.349, 0.0005),
        # Published, sprocket table by the same formula (mm).
        (25.4, 17, 138.23, 0.005),
        (25.4, 18, 146.27, 0.005),
        (25.4, 36, 291.43, 0.005),
    ],
)
def test_pitch_diameters_are_those_of_the_tables(pitch, teeth, diameter, within):
    # Half of the tables' last place.
    assert Sprocket(pitch, teeth).diameter_mm == pytest.approx(diameter, abs=within)


def test_a_drive_of_17_and_65_teeth_takes_102_9_pitches():
    # Published, Mott, Ex. 7-3: C 30 pitches → 102.9.
    drive = TwoSprockets(HALF_INCH_MM, 17, 65, 30 * HALF_INCH_MM)

    assert length_pitches(drive) == pytest.approx(102.9, abs=0.05)


def test_104_pitches_set_those_centres_15_272_inches_apart():
    # Published, Mott, Ex. 7-3: L 104 → C 30.54 pitches = 15.272 in.
    closed = Closed(TwoSprockets(HALF_INCH_MM, 17, 65, 30 * HALF_INCH_MM), 104)

    assert closed.centre_mm / HALF_INCH_MM == pytest.approx(30.54, abs=0.005)
    assert closed.centre_mm / 25.4 == pytest.approx(15.272, abs=0.0005)


@pytest.mark.parametrize(("teeth", "percent"), [(16, 1.92), (20, 1.23)])
def test_the_ripple_of_small_sprockets_is_that_of_the_texts(teeth, percent):
    # Published, machine-element texts (polygon effect).
    assert Ripple(teeth).percent == pytest.approx(percent, abs=0.005)


def test_ripple_falls_nearly_with_the_square_of_the_teeth():
    assert Ripple(20, 40).part_left == pytest.approx(25, abs=0.2)


def test_both_wraps_make_a_whole_turn():
    drive = TwoSprockets(8, 18, 36, 330)

    wraps = [Wrapped(drive, sprocket).wrap_deg for sprocket in ("small", "large")]

    assert sum(wraps) == pytest.approx(360)
    assert wraps[0] == pytest.approx(180 - 2 * math.degrees(math.asin((91.79 - 46.07) / 2 / 330)),
                                     abs=0.01)  # fmt: skip


def test_pitches_are_those_of_timing_chains():
    # Published, ISO 606 (DIN 8187) tables: 05B 8, 06B 9.525, 08B 12.7 mm.
    assert PITCHES_MM == (8.0, 9.525, 12.7)


@pytest.mark.parametrize(
    ("rotation", "seen_from", "tight"),
    [
        # Common practice: turning clockwise seen from the chain end, the guide side is the right.
        ("clockwise", "chain end", "right"),
        ("anticlockwise", "chain end", "left"),
        ("clockwise", "flywheel end", "left"),
        ("anticlockwise", "flywheel end", "right"),
    ],
)
def test_the_strand_that_runs_down_to_the_crankshaft_is_tight(rotation, seen_from, tight):
    assert Pull(rotation, seen_from, "tight").side == tight
    assert Pull(rotation, seen_from, "slack").side != tight


def test_the_shipped_inline_four_has_its_tensioner_on_the_slack_side():
    # Its crankshaft turns clockwise; the shoe stands at x < 0, the left.
    assert Pull("clockwise", "chain end", "slack").side == "left"


def test_strands_are_counted_back_from_the_driver():
    assert Loop(("oil pump", "camshaft")).tightest_first == (
        "camshaft to crankshaft",
        "oil pump to camshaft",
        "crankshaft to oil pump",
    )


def test_an_endless_chain_has_an_even_number_of_pins_and_is_long_enough():
    for item in items_of("chain-length"):
        if item.asked.quantity != "pins":
            continue
        drive = TwoSprockets(
            *(item.givens[name].value for name in ("pitch_mm", "small_teeth", "large_teeth")),
            item.givens["centre_distance_mm"].value,
        )
        assert item.key.value % 2 == 0
        assert 0 < item.key.value - length_pitches(drive) < 2


def test_equal_sprockets_are_asked_without_a_slant():
    for item in items_of("chain-length"):
        ideas = {option.misconception for option in item.options}
        if item.givens["small_teeth"].value == item.givens["large_teeth"].value:
            assert "length-without-correction" not in ideas


def test_a_pointed_strand_lies_on_the_drawn_chain():
    for item in items_of("tight-strand"):
        if item.kind is not Kind.POINT:
            continue
        chain = next(s for s in item.figure().shapes if getattr(s, "name", "") == "chain")
        for place in item.places:
            nearest = min(math.dist(place.centre, point) for point in chain.points)
            assert nearest < place.radius
