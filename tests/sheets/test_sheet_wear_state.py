"""Wear of the sheet's chains: tensioner travel and cam retard, by other ways than the core's."""

import math

import pytest
from valid_sheets import VEE_EIGHT, VEE_SIX, edited, shipped

from quizsvc.errors import InputError
from quizsvc.sheets.state import drive_of, drive_path_of, wheel_index
from quizsvc.sheets.wear_state import (
    plunger_at_mm,
    press_direction_deg,
    retard_of,
    stages_of,
    tensioner_of,
    tight_strand_mm,
)


def test_the_tight_strand_runs_from_the_cam_to_the_crank_over_the_guide():
    path = drive_path_of(shipped(), "timing")
    spans, guide = path.spans, path.arcs[4]

    strand = tight_strand_mm(shipped(), "timing", "exhaust-wheel")

    assert strand == pytest.approx(spans[3].length_mm + guide.length_mm + spans[4].length_mm)


def test_the_cam_further_from_the_driver_has_the_strand_between_the_cams_more():
    nearer = tight_strand_mm(shipped(), "timing", "exhaust-wheel")

    assert tight_strand_mm(shipped(), "timing", "intake-wheel") == pytest.approx(nearer + 112.0)


def test_a_cam_lags_by_twice_the_growth_over_its_sprocket():
    """2·ΔL·360/(π D_cam), written out."""
    diameter = 8 / math.sin(math.pi / 36)
    growth = tight_strand_mm(shipped(), "timing", "exhaust-wheel") * 0.005

    assert retard_of(shipped(), "exhaust") == pytest.approx(2 * growth * 360 / (math.pi * diameter))


def test_lags_of_the_stages_add_up_in_crank_degrees():
    """Angles at each driven wheel, taken to the crank by its own ratio."""
    sheet = shipped(VEE_EIGHT)
    first = tight_strand_mm(sheet, "primary", "primary-intermediate") * 0.01
    second = tight_strand_mm(sheet, "bank-a", "intake-wheel-a") * 0.01
    at_intermediate = math.degrees(first / (9.525 / 2 / math.sin(math.pi / 28)))
    at_cam = math.degrees(second / (8 / 2 / math.sin(math.pi / 30)))

    lag = retard_of(sheet, "intake-a", elongation_percent=1.0)

    assert lag == pytest.approx(at_intermediate / 0.75 + at_cam / 0.5)


def test_stages_lead_from_the_cam_back_to_the_crank():
    names = [stage.wheel.id for stage in stages_of(shipped(VEE_SIX), "exhaust-a")]

    assert names == ["secondary-exhaust-a", "primary-a"]


@pytest.mark.parametrize("drive_id", ["primary", "secondary-a", "secondary-b"])
def test_a_shoe_moved_as_far_as_the_plunger_takes_up_the_growth(drive_id):
    sheet = shipped(VEE_SIX)
    place = next(i for i, d in enumerate(sheet.drives) if d.id == drive_id)
    drive = drive_of(sheet, drive_id)
    wheel = wheel_index(drive, tensioner_of(drive).wheel)
    shoe, way = drive.wheels[wheel], math.radians(press_direction_deg(sheet, drive_id))

    travel = plunger_at_mm(sheet, drive_id, 0.3) - tensioner_of(drive).extension_new_mm
    x, y = shoe.x_mm + travel * math.sin(way), shoe.y_mm + travel * math.cos(way)
    moved = edited(
        sheet, **{f"drives__{place}__wheels__{wheel}__{key}": value
                  for key, value in (("x_mm", x), ("y_mm", y))}
    )  # fmt: skip

    grown = drive_path_of(moved, drive_id).length_mm - drive_path_of(sheet, drive_id).length_mm
    assert grown == pytest.approx(drive.pins * drive.pitch_mm * 0.003, abs=1e-6)


def test_a_tensioner_presses_towards_its_chain():
    assert press_direction_deg(shipped(), "timing") == pytest.approx(75.6, abs=0.1)


def test_a_chain_grown_past_its_tensioner_is_refused():
    with pytest.raises(InputError):
        plunger_at_mm(shipped(), "timing", 1.0)


def test_a_drive_on_fixed_centres_has_no_tensioner_to_ask():
    with pytest.raises(InputError, match="no tensioner"):
        tensioner_of(drive_of(shipped(VEE_EIGHT), "primary"))
