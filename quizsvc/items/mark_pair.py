"""Crank and cam sprockets with their marks, as several families on marks draw them."""

from __future__ import annotations

from functools import lru_cache

from quizsvc.figures.drive_state import DriveView, ViewWheel
from quizsvc.figures.sprocket_pair import Sprocket, SprocketPair
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet
from quizsvc.sheets.schema import EngineSheet, Rotation
from quizsvc.sheets.state import cams_of, wheels_of_shaft
from quizsvc.timing.chain import centre_distance_pitches, pitch_diameter_mm

CRANK_MARK_DEG = 180.0  # straight down, where many pointers are
CAM_MARK_DEG = 0.0
PITCH_MM = 8.0  # 05B, ISO 606


@lru_cache(128)
def _cam_teeth(sheet: EngineSheet) -> tuple[int, ...]:
    found = {
        drawn.wheel.teeth
        for cam in cams_of(sheet)
        for drawn in wheels_of_shaft(sheet, cam.id)
        if drawn.wheel.teeth
    }
    return tuple(sorted(found))


def cam_teeth_of(sheet: EngineSheet, draw: Draw) -> int:
    """Choose one of the tooth counts that the sheet's cam sprockets have."""
    teeth = _cam_teeth(sheet)
    if not teeth:
        raise NotForThisSheet(
            "the sheet has no camshaft sprocket.",
            field="sheet",
            value=sheet.id,
            remedy="Choose another sheet.",
        )
    return draw.choice(teeth)


def clockwise(sheet: EngineSheet) -> bool:
    return sheet.layout.rotation is Rotation.CLOCKWISE


def turning(sheet: EngineSheet) -> str:
    """Name the running direction as seen from the chain end."""
    return "clockwise" if clockwise(sheet) else "anticlockwise"


def pair_with(
    cam_teeth: int, pins: int = 0, *, counted: str = "tight", rotation: str = "clockwise"
) -> SprocketPair:
    """Return a crank sprocket of half the teeth that drives a cam sprocket, marks plain.

    ``pins`` are counted on the named strand; 0 takes a natural number for these sprockets.
    """
    return SprocketPair(
        Sprocket("crankshaft", max(cam_teeth // 2, 9), CRANK_MARK_DEG),
        Sprocket("camshaft", cam_teeth, CAM_MARK_DEG),
        pins or natural_pins(cam_teeth),
        counted=counted,
        rotation=rotation,
    )


def natural_pins(cam_teeth: int) -> int:
    """Return a likely count: a quarter of either sprocket and a strand of half the cam's teeth."""
    return round(cam_teeth / 4 + cam_teeth / 8 + 0.55 * cam_teeth)


@lru_cache(512)
def pair_view(
    crank_teeth: int,
    chain_links: int,
    *,
    runs_clockwise: bool = True,
    crank_mark_deg: float | None = CRANK_MARK_DEG,
    cam_mark_deg: float | None = CAM_MARK_DEG,
    marked_pins: tuple[int, ...] = (),
    note: str = "",
) -> DriveView:
    """Return a front view of a crank sprocket, a cam sprocket of twice its teeth and a chain.

    Marks in degrees clockwise from straight up, seen from the chain end.
    """
    cam_teeth = 2 * crank_teeth
    centre = centre_distance_pitches(chain_links, crank_teeth, cam_teeth) * PITCH_MM
    return DriveView(
        (
            ViewWheel(
                "crankshaft",
                0.0,
                0.0,
                pitch_diameter_mm(PITCH_MM, crank_teeth) / 2,
                crank_teeth,
                mark_deg=crank_mark_deg,
            ),
            ViewWheel(
                "camshaft",
                0.0,
                centre,
                pitch_diameter_mm(PITCH_MM, cam_teeth) / 2,
                cam_teeth,
                mark_deg=cam_mark_deg,
            ),
        ),
        runs_clockwise,
        PITCH_MM,
        marked_pins=marked_pins,
        note=note,
    )
