"""A crank pulley, a cam pulley and a toothed belt, as families on belts draw them.

The pulled strand holds whole teeth from mark to mark; on the other one the tensioner's roller
presses on the back until it takes up one tooth more.
"""

from __future__ import annotations

from functools import lru_cache
from math import tau

from quizsvc.figures.drive_state import DriveView, ViewWheel
from quizsvc.items.options import Redraw
from quizsvc.timing.path import DrivePath, PathWheel

PITCH_MM = 8.0
CRANK_MARK_DEG, CAM_MARK_DEG = 180.0, 0.0
TAKEN_UP = 1  # teeth that the slack strand holds more than the tight one
ROLLER_MM = 56.0
_NEAR_ENOUGH = 1e-7  # pitches


def natural_teeth(crank_teeth: int) -> int:
    """Return a likely count on the tight strand: a quarter of either pulley and room between."""
    return round(crank_teeth / 4 + crank_teeth / 2 + crank_teeth)


@lru_cache(512)
def belt_pair_view(
    crank_teeth: int,
    tight_teeth: int,
    *,
    runs_clockwise: bool,
    late_teeth: int = 0,
    counted: str = "",
    roller_mm: float = ROLLER_MM,
    marks: bool = True,
    note: str = "",
) -> DriveView:
    """Return the front view; the cam pulley has twice the crank pulley's teeth.

    ``tight_teeth`` lie between the marks of a camshaft in time; ``late_teeth`` are those by which
    it lags, negative ahead. ``counted``: "tight", "slack" or "" for no strand.

    Raises:
        Redraw: no belt can lie so.
    """
    way = 1 if runs_clockwise else -1
    centre = _centre_mm(crank_teeth, tight_teeth)
    across = _roller_at_mm(crank_teeth, centre, roller_mm)
    cam_teeth = 2 * crank_teeth
    cam_mark = (CAM_MARK_DEG - way * late_teeth * 360 / cam_teeth) % 360
    ends = {"": None, "tight": ("camshaft", "crankshaft"), "slack": ("crankshaft", "camshaft")}
    return DriveView(
        (
            ViewWheel(
                "crankshaft",
                0.0,
                0.0,
                _radius_mm(crank_teeth),
                crank_teeth,
                part="pulley",
                mark_deg=CRANK_MARK_DEG if marks else None,
            ),
            ViewWheel(
                "tensioner",
                -way * across,
                centre * 0.45,
                roller_mm / 2,
                back=True,
                part="tensioner",
            ),
            ViewWheel(
                "camshaft",
                0.0,
                centre,
                _radius_mm(cam_teeth),
                cam_teeth,
                part="pulley",
                mark_deg=cam_mark if marks else None,
            ),
        ),
        runs_clockwise,
        PITCH_MM,
        counted=ends[counted],
        note=note,
        belt=True,
    )


def _radius_mm(teeth: int) -> float:
    return teeth * PITCH_MM / tau


@lru_cache(512)
def _centre_mm(crank_teeth: int, tight_teeth: int) -> float:
    """Return the centre distance at which the bare belt holds twice the tight strand's teeth."""
    small, large = _radius_mm(crank_teeth), _radius_mm(2 * crank_teeth)
    centre, least = PITCH_MM * tight_teeth / 2, small + large + PITCH_MM
    for _ in range(60):
        centre = max(centre, least)
        bare = DrivePath((PathWheel(0, 0, small), PathWheel(0, centre, large)))
        lacking = 2 * tight_teeth - bare.belt_pitches(PITCH_MM)
        if abs(lacking) < _NEAR_ENOUGH:
            return centre
        centre += lacking * PITCH_MM / 2
    raise Redraw


@lru_cache(512)
def _roller_at_mm(crank_teeth: int, centre: float, roller_mm: float) -> float:
    """Return how far beside the line of centres the roller stands, by halving."""
    small, large = _radius_mm(crank_teeth), _radius_mm(2 * crank_teeth)
    wheels = PathWheel(0, 0, small), PathWheel(0, centre, large)
    wanted = DrivePath(wheels).belt_pitches(PITCH_MM) + TAKEN_UP

    def pitches(across: float) -> float:
        roller = PathWheel(-across, centre * 0.45, roller_mm / 2, back=True)
        try:
            return DrivePath((wheels[0], roller, wheels[1])).belt_pitches(PITCH_MM)
        except ValueError:
            raise Redraw from None

    near = roller_mm / 2 - small * 0.4
    strand = small + (large - small) * 0.45
    far = strand + roller_mm / 2 - 0.5  # just touching the strand
    if not pitches(far) < wanted < pitches(near):
        raise Redraw
    for _ in range(60):
        middle = (near + far) / 2
        near, far = (middle, far) if pitches(middle) > wanted else (near, middle)
    return near
