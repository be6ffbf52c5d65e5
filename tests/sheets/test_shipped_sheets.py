"""The engines that come with the program: right by computation, invented, and complete."""

import cmath
import math

import pytest
from valid_sheets import (
    BELT_THREE,
    CHAIN_DRIVEN,
    INLINE_FOUR,
    SHIPPED,
    VEE_EIGHT,
    VEE_SIX,
    shipped,
    shipped_text,
)

from quizsvc.sheets.accessory_state import belt_path_of
from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.computed import computed_values
from quizsvc.sheets.schema import CautionKind, ShaftKind
from quizsvc.sheets.state import (
    compression_ratio_of,
    counted_marks,
    layout_of,
    loop_pitches,
    slider_of,
)
from quizsvc.sheets.valve_state import VALVES, customary_gap_mm, least_gap_of, slip_tolerance_of
from quizsvc.sheets.wear_state import plunger_at_mm, retard_of
from quizsvc.timing.crank import safe_position

shipped_engines = pytest.mark.parametrize("sheet", [shipped(n) for n in SHIPPED], ids=SHIPPED)
chain_driven_engines = pytest.mark.parametrize(
    "sheet", [shipped(n) for n in CHAIN_DRIVEN], ids=CHAIN_DRIVEN
)


@shipped_engines
def test_the_check_has_nothing_to_say(sheet):
    assert check_sheet(sheet) == ()


@shipped_engines
def test_each_is_marked_invented_and_says_that_service_information_comes_first(sheet):
    assert sheet.invented
    assert "(invented)" in sheet.title
    assert "service information, local rules and licensed practice" in shipped_text(sheet.id)


@shipped_engines
def test_each_carries_every_kind_of_caution(sheet):
    assert {caution.kind for caution in sheet.cautions} == set(CautionKind)


@shipped_engines
def test_each_chain_or_belt_fits_its_path_to_a_hundredth_of_a_pitch(sheet):
    for drive in sheet.drives:
        assert drive.kind == "belt" or drive.pins % 2 == 0
        assert loop_pitches(sheet, drive.id) == pytest.approx(drive.pins, abs=0.01)


@shipped_engines
def test_marks_line_up_within_a_fiftieth_of_a_pitch(sheet):
    for drive in sheet.drives:
        counts = counted_marks(sheet, drive.id)
        assert counts
        assert all(abs(count.off_pitches) < 0.02 for count in counts)
        assert sum(count.stated.pins for count in counts) == drive.pins


@shipped_engines
def test_the_stated_safe_position_is_the_first_computed_one(sheet):
    computed = safe_position(layout_of(sheet), slider_of(sheet))

    assert sheet.safe_position.atdc_deg == pytest.approx(computed.atdc_deg)


@pytest.mark.parametrize(
    ("name", "atdc_deg"),
    [(INLINE_FOUR, 90), (BELT_THREE, 60), (VEE_SIX, 60), (VEE_EIGHT, 45)],
)
def test_safe_positions_are_those_of_common_practice(name, atdc_deg):
    """Half the spacing of the TDCs (common practice, no source)."""
    assert shipped(name).safe_position.atdc_deg == atdc_deg


@chain_driven_engines
def test_the_marks_of_one_bank_are_a_usual_number_of_pins_apart(sheet):
    """12 pins on cams about 12 pitches apart (common practice, no source); 14 on the four."""
    drive = sheet.drives[-1]
    cams = {shaft.id for shaft in sheet.shafts if shaft.kind is ShaftKind.CAM}
    on_cams = {wheel.id for wheel in drive.wheels if wheel.shaft in cams}
    between = [c.pins for c in drive.mark_pins if c.from_wheel in on_cams and c.to_wheel in on_cams]

    assert min(between) == (14 if sheet.id == INLINE_FOUR else 12)


@shipped_engines
def test_valves_clear_pistons_in_time_and_meet_them_after_a_slip_or_two(sheet):
    for valve in VALVES:
        assert customary_gap_mm(sheet, valve) < least_gap_of(sheet, valve).gap_mm < 6
    tolerances = [slip_tolerance_of(sheet, drive.id) for drive in sheet.drives]
    assert all(t.interference for t in tolerances)
    assert all(min(t.advanced_teeth, t.retarded_teeth) in {1, 2} for t in tolerances)


@shipped_engines
def test_compression_is_that_of_a_spark_ignition_engine(sheet):
    """8 to 14 (from memory)."""
    assert 9 < compression_ratio_of(sheet) < 12


@chain_driven_engines
def test_the_groove_shows_before_the_wear_limit_and_the_tensioner_still_follows(sheet):
    for drive in sheet.drives:
        if drive.tensioner:
            at_limit = plunger_at_mm(sheet, drive.id, drive.elongation_limit_percent)
            assert drive.tensioner.groove_at_mm < at_limit < drive.tensioner.longest_mm


@chain_driven_engines
def test_at_the_wear_limit_every_camshaft_lags_by_some_degrees(sheet):
    for shaft in sheet.shafts:
        if shaft.kind is ShaftKind.CAM:
            assert 2 < retard_of(sheet, shaft.id) < 12


@shipped_engines
def test_each_has_what_the_families_on_signals_torque_and_belts_ask_about(sheet):
    of_shaft = {sensor.shaft for sensor in sheet.sensors}
    kinds = {shaft.kind for shaft in sheet.shafts if shaft.id in of_shaft}

    assert kinds == {ShaftKind.CRANK, ShaftKind.CAM}
    assert any(fastener.angle_deg and not fastener.reuse for fastener in sheet.fasteners)
    assert sheet.damper_diameter_mm
    assert len(sheet.pulleys) >= 3
    assert belt_path_of(sheet).length_mm > 1000


def test_the_engines_differ_in_what_they_teach():
    assert len(shipped(INLINE_FOUR).drives) == 1
    assert {s.kind for s in shipped(VEE_EIGHT).shafts} > {ShaftKind.INTERMEDIATE}
    assert shipped(VEE_SIX).valves.phaser_range_deg > 0
    assert [drive.kind for drive in shipped(BELT_THREE).drives] == ["belt"]
    assert len({shipped(name).marks_position.crank_deg for name in SHIPPED}) == len(SHIPPED)


def test_the_teeth_of_the_belt_follow_from_its_path():
    """By another way: hull and tangents as vectors, not the core's arcs; 8 mm of cord a tooth."""
    drive = shipped(BELT_THREE).drives[0]

    length = belt_length_by_vectors(drive)

    assert length / drive.pitch_mm == pytest.approx(drive.pins, abs=0.01)
    assert drive.pins == sum(count.pins for count in drive.mark_pins) == 137


def belt_length_by_vectors(drive) -> float:
    """Lay the loop as common tangents, found by turning a vector; wraps from one to the next."""
    circles = [
        (
            complex(w.x_mm, w.y_mm),
            (w.teeth * drive.pitch_mm / math.tau if w.teeth else w.radius_mm)
            * (-1 if w.contact == "back" else 1),
        )
        for w in drive.wheels
    ]
    ways, straight = [], 0.0
    for (a, r), (b, q) in zip(circles, [*circles[1:], circles[0]], strict=True):
        between = b - a
        lean = math.asin((r - q) / abs(between))
        straight += abs(between) * math.cos(lean)
        ways.append(between / abs(between) * cmath.exp(-1j * lean))  # clockwise: the left side
    turned = [
        -cmath.phase(out / into) for into, out in zip([ways[-1], *ways[:-1]], ways, strict=True)
    ]
    signed = [
        turn % math.tau if r > 0 else turn for turn, (_, r) in zip(turned, circles, strict=True)
    ]
    assert sum(signed) == pytest.approx(math.tau)
    return straight + sum(abs(turn * r) for turn, (_, r) in zip(signed, circles, strict=True))


def test_the_belt_meshes_with_enough_teeth_and_its_back_turns_the_pump():
    """Six teeth in mesh at the least (common practice, no source)."""
    sheet = shipped(BELT_THREE)
    figures = {(one.quantity, one.of): one for one in computed_values(sheet)}

    assert figures["teeth in mesh", "crank-pulley"].value > 6
    pump = figures["turns per crank turn", "pump-pulley"]
    assert pump.value == pytest.approx(20 * 8 / (2 * math.pi * 27))
    assert "against the crankshaft" in pump.words
    assert ("lag at wear limit", "intake") not in figures


def test_the_belt_states_when_it_is_renewed_and_its_cautions_speak_of_a_belt():
    sheet = shipped(BELT_THREE)
    cautions = {caution.kind: caution.text for caution in sheet.cautions}

    assert sheet.drives[0].renew_km
    assert sheet.drives[0].renew_years
    assert all("chain" not in text.lower() for text in cautions.values())
    assert "belt" in cautions[CautionKind.INTERFERENCE]
    assert "belt" in cautions[CautionKind.ROTATION]
