"""The pure geometry core: angles in degrees, lengths in mm, no state, no clock, no chance.

The names a caller mostly needs; everything else is in the module of its idea. Signs: crank angle
0 is the firing TDC of cylinder 1, positive in running rotation; an error is positive when it is
late (retarded).
"""

from __future__ import annotations

from quizsvc.timing.chain import drive_ratio, pitch_diameter_mm
from quizsvc.timing.clearance import ValveRoom, room_mm
from quizsvc.timing.crank import SliderCrank, least_drop, safe_position, safe_positions
from quizsvc.timing.cycle import (
    CylinderLayout,
    CylinderPlace,
    Stroke,
    cross_plane_v8,
    flat_four,
    inline_layout,
    stroke_at,
    vee_layout,
)
from quizsvc.timing.lift import LiftCurve, lift_curve
from quizsvc.timing.marks import (
    MarkCount,
    MarkVerdict,
    check_pin_count,
    mark_angle_deg,
    pins_between_marks,
)
from quizsvc.timing.path import DrivePath, PathWheel
from quizsvc.timing.slip import FirstContact, SlipTolerance, first_contact, slip_tolerance
from quizsvc.timing.valves import ValveEvents, open_valves

__all__ = [
    "CylinderLayout",
    "CylinderPlace",
    "DrivePath",
    "FirstContact",
    "LiftCurve",
    "MarkCount",
    "MarkVerdict",
    "PathWheel",
    "SliderCrank",
    "SlipTolerance",
    "Stroke",
    "ValveEvents",
    "ValveRoom",
    "check_pin_count",
    "cross_plane_v8",
    "drive_ratio",
    "first_contact",
    "flat_four",
    "inline_layout",
    "least_drop",
    "lift_curve",
    "mark_angle_deg",
    "open_valves",
    "pins_between_marks",
    "pitch_diameter_mm",
    "room_mm",
    "safe_position",
    "safe_positions",
    "slip_tolerance",
    "stroke_at",
    "vee_layout",
]
