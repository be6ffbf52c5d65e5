"""Tightening: torque units, adapters, turning by angle; and arcs on a damper."""

from __future__ import annotations

import math

from quizsvc.timing.quantity import number, refuse

NM_PER_LBF_FT = 1.3558179483  # NIST SP 811
NM_PER_KGF_M = 9.80665  # standard gravity, exact by definition
HEXAGON_FLAT_DEG = 60.0


def adapter_setting_nm(
    torque_nm: float, wrench_mm: float, adapter_mm: float, angle_deg: float = 0.0
) -> float:
    """Wrench setting that gives ``torque_nm`` at the bolt through an adapter: T·L/(L + E cosθ).

    ``wrench_mm`` from the square drive to the middle of the grip, ``adapter_mm`` from the
    square to the bolt; any one unit of length does. θ is 0 when the adapter lengthens the
    wrench straight ahead, 90 square to it (no change), 180 turned back. An adapter ahead
    lowers the setting. Source: torque-adapter tables.

    >>> round(adapter_setting_nm(80, 40, 5), 1), adapter_setting_nm(80, 40, 5, 90)
    (71.1, 80.0)
    """
    torque = number("torque_nm", torque_nm, above=0)
    wrench = number("wrench_mm", wrench_mm, above=0)
    adapter = number("adapter_mm", adapter_mm, at_least=0)
    reach = wrench + adapter * _cosine(number("angle_deg", angle_deg))
    if reach <= 0:
        refuse("adapter_mm", adapter, "reaches back past the grip; the wrench cannot set this.")
    return torque * (wrench / reach)


def torque_at_bolt_nm(
    setting_nm: float, wrench_mm: float, adapter_mm: float, angle_deg: float = 0.0
) -> float:
    """Torque that reaches the bolt at a wrench setting: adapter_setting_nm turned round.

    >>> torque_at_bolt_nm(80, 40, 5)
    90.0
    """
    number("setting_nm", setting_nm, above=0)
    return setting_nm / adapter_setting_nm(1.0, wrench_mm, adapter_mm, angle_deg)


def newton_metres(lbf_ft: float) -> float:
    """Turn pound-force feet into N·m. Source: NIST SP 811.

    >>> round(newton_metres(100), 2)
    135.58
    """
    return number("lbf_ft", lbf_ft) * NM_PER_LBF_FT


def pound_force_feet(torque_nm: float) -> float:
    """Turn N·m into pound-force feet. Source: NIST SP 811.

    >>> round(pound_force_feet(100), 2)
    73.76
    """
    return number("torque_nm", torque_nm) / NM_PER_LBF_FT


def kilogram_force_metres(torque_nm: float) -> float:
    """Turn N·m into kgf·m, by standard gravity.

    >>> round(kilogram_force_metres(98.0665), 9)
    10.0
    """
    return number("torque_nm", torque_nm) / NM_PER_KGF_M


def flats_turned(angle_deg: float) -> float:
    """Flats of a hexagon head that pass in a tightening angle: angle / 60.

    >>> flats_turned(90)
    1.5
    """
    return number("angle_deg", angle_deg, at_least=0) / HEXAGON_FLAT_DEG


def thread_advance_mm(angle_deg: float, thread_pitch_mm: float) -> float:
    """How far a bolt screws in during a tightening angle: thread pitch · angle / 360.

    Bolt stretch and the give of the joint share it between them.

    >>> thread_advance_mm(90, 1.5)
    0.375
    """
    pitch = number("thread_pitch_mm", thread_pitch_mm, above=0)
    return number("angle_deg", angle_deg, at_least=0) / 360 * pitch


def final_mark_deg(start_deg: float, *stages_deg: float) -> float:
    """Direction in [0, 360) of a paint mark on the head after its tightening angles.

    >>> final_mark_deg(30, 90, 90)
    210.0
    """
    turned = sum(number("stages_deg", stage, at_least=0) for stage in stages_deg)
    return (number("start_deg", start_deg) + turned) % 360


def damper_arc_mm(diameter_mm: float, crank_deg: float = 1.0) -> float:
    """Arc on a damper's rim for crank degrees: πD/360 each. The arc, not the chord.

    >>> round(damper_arc_mm(165), 5)
    1.4399
    """
    return math.pi * number("diameter_mm", diameter_mm, above=0) * number(
        "crank_deg", crank_deg
    ) / 360  # fmt: skip


def damper_angle_deg(diameter_mm: float, arc_mm: float) -> float:
    """Crank degrees for an arc measured along a damper's rim.

    >>> round(damper_angle_deg(165, 1.4399), 3)
    1.0
    """
    return number("arc_mm", arc_mm) / damper_arc_mm(diameter_mm)


def _cosine(angle_deg: float) -> float:
    """Cosine that is exactly 0 at a right angle, where an adapter changes nothing."""
    return 0.0 if angle_deg % 180 == 90 else math.cos(math.radians(angle_deg))
