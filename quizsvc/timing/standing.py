"""Valves that stand still while the crank turns: their drive is off.

The gap then changes with the piston alone, and a valve that stands open far enough is met by its
piston about every TDC.
"""

from __future__ import annotations

from quizsvc.timing.clearance import Meeting, ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.quantity import number, turn_deg

ONE_TURN_DEG = 360.0


def standing_meetings(room: ValveRoom, slider: SliderCrank, lift_mm: float) -> tuple[Meeting, ...]:
    """Find where a piston would overlap a valve that stands open by ``lift_mm``.

    Angles after TDC in [0, 360), on either side of one TDC; empty when they never meet. A piston
    is as deep before TDC as its mirror image, with the pin offset to the other side, is after it.

    >>> from quizsvc.timing.lift import LiftCurve
    >>> intake = ValveRoom("intake", LiftCurve(340, 600, 10), room_mm=6)
    >>> [meeting] = standing_meetings(intake, SliderCrank(86, 143), lift_mm=8)
    >>> round(meeting.from_deg, 2), round(meeting.to_deg, 2)
    (344.6, 15.4)
    """
    number("lift_mm", lift_mm, at_least=0)
    reach = -room.gap_from_mm(0.0, lift_mm)
    if reach <= 0:
        return ()
    if reach >= slider.travel_mm:
        return (Meeting(0.0, ONE_TURN_DEG),)
    mirrored = SliderCrank(slider.stroke_mm, slider.rod_mm, -slider.pin_offset_mm)
    before, after = mirrored.angle_for_drop_deg(reach), slider.angle_for_drop_deg(reach)
    return (Meeting(turn_deg(-before, ONE_TURN_DEG), after),)
