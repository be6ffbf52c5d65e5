"""Wear families against published and customary values."""

from __future__ import annotations

import pytest
from drawn_items import items_of

from quizsvc.items.families.belt_setting import Belt
from quizsvc.items.families.elongation import Measured
from quizsvc.items.families.plunger_travel import Seen
from quizsvc.items.families.slip_or_stretch import NEITHER, STRETCH, Error
from quizsvc.items.families.span_tension import Span
from quizsvc.items.families.wear_retard import Grown
from quizsvc.items.model import Kind, Level
from quizsvc.timing.tensioner import Plunger


def test_half_a_percent_of_330_mm_retards_by_4_12_degrees():
    # Second method, first order: 2·ΔL·360/(π D_cam), 36 T × 8 mm.
    assert Grown(330, 0.5, 36, 8).late_deg == pytest.approx(4.12, abs=0.005)


def test_a_span_that_sounds_at_221_5_hz_pulls_624_n():
    # Published, belt texts: m 0.11 kg/m, L 0.17 m, T 624 N → f 221.5 Hz. A tenth of a hertz is
    # 0.56 N at this note.
    assert Span(0.11, 0.17, 221.5).tension_n == pytest.approx(624, abs=0.6)


def test_a_percent_of_growth_is_a_percent_of_the_new_length():
    # By hand: 30 pitches of 8 mm are 240 mm; 242.4 mm is 1 %.
    assert Measured(30, 8, 242.4, 1.5).percent == pytest.approx(1.0)


def test_limits_asked_are_not_above_the_customary_3_percent():
    # Common practice of chain makers: 3 %, 1.5 % on fixed centres.
    for item in items_of("elongation"):
        if item.level is Level.DIAGNOSE:
            assert 0 < item.givens["limit_percent"].value <= 3


@pytest.mark.parametrize(("minutes", "setting"), [(0, 650), (9, 650), (10, 480), (3000, 480)])
def test_a_belt_counts_as_used_after_ten_minutes(minutes, setting):
    # Common practice, no source.
    assert Belt(minutes, 650, 480).setting_n == setting


def test_the_groove_is_counted_from_the_housing():
    seen = Seen(Plunger(6, 14, 20), 15.5, 60)

    assert seen.left_mm == -1.5
    assert seen.travel_mm == 9.5
    assert Seen(Plunger(6, 14, 20), 10, 60).groove_at_km == 120


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (21, "the chain is off by 1 tooth, retarded"),
        (-19, "the chain is off by 1 tooth, advanced"),
        (40, "the chain is off by 2 teeth, retarded"),
        (4, STRETCH),
        (-4, NEITHER),
    ],
)
def test_whole_teeth_are_a_slip_and_a_few_degrees_late_are_stretch(error, verdict):
    # Common practice, no source: 36 teeth make 20 crank degrees a tooth.
    assert Error(error, 36, 6).verdict == verdict


def test_a_slip_is_never_asked_about_halfway_between_teeth():
    for item in items_of("slip-or-stretch"):
        teeth = item.givens["error_deg"].value * item.givens["cam_teeth"].value / 720
        assert abs(teeth - round(teeth)) <= 0.35


def test_nobody_is_offered_a_chain_shorter_than_new():
    for item in items_of("elongation"):
        if item.kind is Kind.ONE_CHOICE:
            assert all(option.value > 0 for option in item.options)


def test_a_spring_loaded_plunger_is_cautioned():
    for item in items_of("plunger-travel")[:20]:
        assert "spring loaded" in item.caution


def test_belts_are_set_at_rest():
    for family_id in ("belt-setting", "span-tension"):
        for item in items_of(family_id)[:20]:
            assert "at rest" in item.caution
