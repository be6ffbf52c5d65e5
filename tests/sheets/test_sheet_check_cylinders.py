"""Cylinders and crankshaft: each finding proven by a sheet that is broken in just that way."""

from sheet_findings import ERROR, WARNING, found, only
from valid_sheets import VEE_SIX, edited


def test_an_inline_engine_with_two_banks_is_refused():
    banks = [
        {"id": "a", "angle_deg": 0, "title": "one"},
        {"id": "b", "angle_deg": 60, "title": "two"},
    ]

    finding = only(edited(layout__banks=banks))

    assert (finding.severity, finding.field, finding.value) == (ERROR, "layout.banks", 2)
    assert "has 1 bank" in finding.message


def test_banks_of_a_vee_in_one_direction_are_refused():
    finding = found(edited(VEE_SIX, layout__banks__1__angle_deg=-30.0), "layout.banks")

    assert finding.severity is ERROR
    assert "same direction" in finding.message


def test_banks_of_a_flat_engine_stand_opposite():
    assert "180° apart" in found(edited(VEE_SIX, layout__kind="flat"), "layout.banks").message


def test_crankpins_are_counted_from_the_first():
    turned = {
        f"layout__cylinders__{i}__pin_deg": pin + 90 for i, pin in enumerate((0, 180, 180, 0))
    }

    finding = only(edited(**turned))

    assert finding.field == "layout.cylinders[1].pin_deg"
    assert (finding.severity, finding.value) == (ERROR, 90)


def test_a_firing_order_that_the_crankshaft_cannot_fire_is_refused():
    order = [1, 4, 3, 2]  # 1 and 4 stand on one pin, so this takes more than two turns

    finding = only(edited(layout__firing_order=order))

    assert (finding.severity, finding.field) == (ERROR, "layout.firing_order")
    assert "two turns" in finding.message


def test_uneven_firing_is_pointed_out_with_its_intervals():
    finding = found(edited(layout__cylinders__1__pin_deg=170.0), "layout.firing_order")

    assert finding.severity is WARNING
    assert "190" in finding.message


def test_a_rod_too_short_to_go_round_is_refused():
    finding = found(edited(piston__rod_mm=40.0), "piston.rod_mm")

    assert finding.severity is ERROR
    assert "longer than throw + offset = 43" in finding.message


def test_an_unusual_rod_is_pointed_out():
    finding = found(edited(piston__rod_mm=90.0), "piston.rod_mm")

    assert finding.severity is WARNING
    assert "1.05" in finding.message


def test_a_gasket_that_stands_into_the_bore_is_refused():
    assert only(edited(piston__gasket_bore_mm=85.0)).field == "piston.gasket_bore_mm"


def test_a_dome_that_fills_the_chamber_is_refused():
    finding = found(edited(piston__dish_cc=-50.0, piston__chamber_cc=30.0), "piston.dish_cc")

    assert "no room" in finding.message


def test_an_unusual_compression_ratio_is_pointed_out():
    finding = only(edited(piston__chamber_cc=440.0))

    assert (finding.severity, finding.field) == (WARNING, "piston.chamber_cc")
    assert "2.1" in finding.message
