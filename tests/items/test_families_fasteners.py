"""Fastener families against published values."""

from __future__ import annotations

import math

import pytest
from drawn_items import items_of

from quizsvc.items.families.adapter_setting import Lever
from quizsvc.items.families.angle_tightening import Turned
from quizsvc.items.families.damper_arc import Rim
from quizsvc.timing.fasteners import (
    final_mark_deg,
    flats_turned,
    newton_metres,
    thread_advance_mm,
)


@pytest.mark.parametrize(("angle", "setting"), [(0, 71.1), (90, 80), (180, 91.4)])
def test_an_adapter_of_5_on_40_takes_80_to_what_the_tables_say(angle, setting):
    # Published, torque-adapter tables: 80, 40, 5 → 71.1; at 90° 80; reversed 91.4.
    assert Lever(80, 40, 5, angle).setting_nm == pytest.approx(setting, abs=0.05)


def test_a_pound_foot_is_1_355_817_9483_newton_metres():
    # Published, NIST SP 811.
    assert newton_metres(1) == pytest.approx(1.3558179483, abs=1e-10)


def test_a_degree_on_a_165_mm_damper_is_1_4399_mm():
    # Second method: πD/360.
    assert Rim(165, 1).arc_mm == pytest.approx(1.43990, abs=5e-6)
    assert Rim(165, 360).arc_mm == pytest.approx(165 * math.pi)


def test_90_degrees_are_a_flat_and_a_half():
    turned = Turned(60, (90, 90), 30, 1.5)

    assert flats_turned(90) == 1.5
    assert final_mark_deg(turned.start_deg, *turned.stages_deg) == 210
    assert thread_advance_mm(turned.angle_deg, turned.thread_pitch_mm) == 0.75


def test_no_wrong_setting_can_be_told_by_its_size_alone():
    for item in items_of("adapter-setting"):
        assert item.key.value > 0
        assert all(option.value > 0 for option in item.options)


def test_torques_asked_are_those_of_an_engine():
    for item in items_of("torque-units"):
        limit = 150 if item.asked.unit == "N·m" else 130
        assert 5 < item.key.value < limit


def test_bolts_tightened_by_angle_are_cautioned():
    for item in items_of("angle-tightening")[:20]:
        assert "used once only" in item.caution
        assert "maker's service information" in item.caution
