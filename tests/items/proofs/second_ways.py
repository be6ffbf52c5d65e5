"""Second ways to the keys on cycle, piston and marks: from what the prompt gives, not the core.

Each function takes the givens of an item as plain values and returns what the key should be,
unrounded, by simulation, numerical solving or counting.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import accumulate

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

Givens = Mapping[str, object]


# --- cycle -------------------------------------------------------------------------------


def firing_times(givens: Givens) -> dict[int, float]:
    """Add up the intervals along the order, cylinder 1 at 0."""
    order, intervals = givens["firing_order"], givens["intervals"]
    times = dict(zip(order, [0.0, *accumulate(intervals)][:-1], strict=True))
    return {cylinder: (time - times[1]) % 720 for cylinder, time in times.items()}


def stroke_by_motion(own_deg: float) -> str:
    """Tell the stroke from which way the piston moves and which of the two turns it is."""
    down = math.sin(math.radians(own_deg)) > 0
    first_turn = math.sin(math.radians(own_deg / 2)) > 0
    names = {
        (True, True): "power",
        (False, True): "exhaust",
        (True, False): "intake",
        (False, False): "compression",
    }
    return names[down, first_turn]


def strokes(givens: Givens) -> dict[int, str]:
    times = firing_times(givens)
    return {c: stroke_by_motion(givens["crank_deg"] - time) for c, time in times.items()}


def moves_alike(givens: Givens, cylinder: int) -> list[int]:
    """Return the other cylinders whose pistons stand alike at any angle, and fire elsewhere."""
    times = firing_times(givens)
    angles = np.radians(np.arange(0, 720, 7.5))
    here = np.cos(angles - math.radians(times[cylinder]))
    return [
        other
        for other, time in times.items()
        if other != cylinder and np.allclose(np.cos(angles - math.radians(time)), here)
    ]


def next_by_waiting(givens: Givens) -> int:
    """Wait degree by degree after a firing until another cylinder fires."""
    times = firing_times(givens)
    start = times[givens["cylinder"]]
    waits = {other: (time - start) % 720 for other, time in times.items()}
    return min((wait, other) for other, wait in waits.items() if wait > 0)[1]


def own_angle_by_turning(givens: Givens) -> float:
    """Turn a pointer as a complex number; its argument forgets whole turns."""
    turn = cmath.exp(1j * math.radians(givens["crank_deg"]))
    back = cmath.exp(-1j * math.radians(firing_times(givens)[givens["cylinder"]]))
    return _turn(turn * back)


def _turn(pointer: complex) -> float:
    """Return a pointer's angle in [0, 360); nine places keep dust below 360 from counting."""
    return round(math.degrees(cmath.phase(pointer)), 9) % 360


def sequence_by_waiting(givens: Givens) -> list[int]:
    times = firing_times(givens)
    start = givens["crank_deg"] if "crank_deg" in givens else times[givens["cylinder"]]
    return [c for _, c in sorted(((time - start) % 720, c) for c, time in times.items())]


# --- piston ------------------------------------------------------------------------------


def drop_by_solving(stroke: float, rod: float, deg: float) -> float:
    """Solve for the height at which the rod just reaches from crankpin to piston pin."""
    throw, angle = stroke / 2, math.radians(deg)
    pin = (throw * math.sin(angle), throw * math.cos(angle))
    height = brentq(
        lambda y: math.dist((0.0, y), pin) - rod, pin[1], pin[1] + rod + 1e-9, xtol=1e-12
    )
    return throw + rod - height


def angle_by_solving(givens: Givens) -> float:
    stroke, rod, drop = givens["stroke_mm"], givens["rod_mm"], givens["drop_mm"]
    return brentq(lambda deg: drop_by_solving(stroke, rod, deg) - drop, 0, 180, xtol=1e-9)


def safest_by_trying(givens: Givens) -> list[float]:
    """Try every half degree of a turn; return those where the nearest TDC is furthest."""
    tdcs = np.array(sorted(time % 360 for time in firing_times(givens).values()))
    tried = np.arange(0, 360, 0.5)
    apart = np.abs((tried[:, None] - tdcs[None, :] + 180) % 360 - 180).min(axis=1)
    return [float(deg) for deg in tried[apart > apart.max() - 1e-9]]


def margin_by_trying(givens: Givens) -> float:
    times = firing_times(givens)
    stroke, rod = givens["stroke_mm"], givens["rod_mm"]
    return min(
        drop_by_solving(stroke, rod, givens["crank_deg"] - time) for time in set(times.values())
    )


def wheel_error_by_equations(givens: Givens) -> float:
    """Solve stop + error = before, stop − error = after."""
    readings = (givens["reading_before_deg"], givens["reading_after_deg"])
    _stop, error = np.linalg.solve([[1, 1], [1, -1]], readings)
    return float(error)


def area_by_integration(bore: float) -> float:
    radius = bore / 2
    half, _ = quad(lambda x: math.sqrt(max(0.0, radius**2 - x**2)), -radius, radius)
    return 2 * half


def displacement_by_integration(givens: Givens) -> float:
    one = area_by_integration(givens["bore_mm"]) * givens["stroke_mm"] / 1000
    return sum(one for _ in range(givens["cylinders"]))


def ratio_by_volumes(givens: Givens) -> float:
    """Volume over the crown at BDC by that at TDC, each added up from the head down."""
    bore = area_by_integration(givens["bore_mm"])
    top = givens["chamber_cc"] + givens["dish_cc"]
    top += area_by_integration(givens["gasket_bore_mm"]) * givens["gasket_mm"] / 1000
    top += bore * givens["deck_mm"] / 1000
    bottom = top + bore * givens["stroke_mm"] / 1000
    return bottom / top


# --- marks -------------------------------------------------------------------------------


def tooth_by_chain(givens: Givens) -> float:
    """One pitch of chain turns a crank sprocket of half the teeth by one of its teeth."""
    return float(Fraction(360) / Fraction(givens["cam_teeth"], 2))


def error_by_pulling(givens: Givens) -> float:
    """Pull pitch by pitch until the counted strand holds what is specified.

    On the tight strand the crank must wind in what is too much before the cam is at its mark,
    so the cam comes late by that; what is too much on the slack side is missing on the tight.
    """
    per_pitch = tooth_by_chain(givens)
    tight = givens["pins_counted"] if givens["side"] == "tight" else -givens["pins_counted"]
    wanted = givens["pins_specified"] if givens["side"] == "tight" else -givens["pins_specified"]
    late = 0.0
    while tight > wanted:
        tight, late = tight - 1, late + per_pitch
    while tight < wanted:
        tight, late = tight + 1, late - per_pitch
    return late


def error_by_laying_the_belt(givens: Givens) -> float:
    """Turn the cam pulley until as much cord lies on the strand as its teeth take.

    A cam that lags winds off cord onto the strand that the crank pulls, and takes it from the
    other; the tooth's size does not matter, so 1 mm a tooth.
    """
    radius = givens["cam_teeth"] / math.tau
    way = 1 if givens["side"] == "tight" else -1

    def cord_too_long(lag: float) -> float:
        return givens["teeth_specified"] + way * radius * lag - givens["teeth_counted"]

    return 2 * math.degrees(brentq(cord_too_long, -3.0, 3.0, xtol=1e-12))


def pins_by_walking(givens: Givens) -> int:
    """Walk the pins one by one from the left mark over the top to the right mark."""
    pitch, teeth = givens["pitch_mm"], givens["teeth"]
    tooth = 360 / teeth
    radius = pitch / 2 / math.sin(math.pi / teeth)
    x = radius * math.sin(math.radians(givens["from_mark_deg"]))
    y = radius * math.cos(math.radians(givens["from_mark_deg"]))
    end = (
        givens["centre_distance_mm"] + radius * math.sin(math.radians(givens["to_mark_deg"])),
        radius * math.cos(math.radians(givens["to_mark_deg"])),
    )
    pins = 0
    while math.dist((x, y), end) > pitch / 3:
        x, y = _next_pin(x, y, radius, tooth, givens["centre_distance_mm"], pitch)
        pins += 1
        assert pins < 1000, "walked past the mark"
    return pins


def _next_pin(
    x: float, y: float, radius: float, tooth: float, centre: float, pitch: float
) -> tuple[float, float]:
    if x < -1e-6:  # climbing the left sprocket
        return _turned(x, y, tooth)
    if x < centre - 1e-6:  # along the upper strand
        return x + pitch, radius
    right, up = _turned(x - centre, y, tooth)
    return centre + right, up


def _turned(x: float, y: float, clockwise_deg: float) -> tuple[float, float]:
    turn = complex(y, x) * cmath.exp(1j * math.radians(clockwise_deg))
    return turn.imag, turn.real


def mark_by_turning(givens: Givens) -> float:
    """Turn the cam by half a degree for each degree of the crank."""
    half = cmath.exp(1j * math.radians(0.5))
    mark = cmath.exp(1j * math.radians(givens["cam_mark_deg"]))
    mark *= half ** round(givens["crank_turn_deg"])
    return _turn(mark)


def realign_by_turning(givens: Givens) -> int:
    """Turn the crank turn by turn until the marked link is back at the mark."""
    at, turns = 0, 0
    while turns == 0 or at:
        at = (at + givens["crank_teeth"]) % givens["chain_links"]
        turns += 1
    return turns


def realign_with_cam_by_turning(givens: Givens) -> int:
    link, cam, turns = 0, 0, 0
    while turns == 0 or link or cam:
        link = (link + givens["crank_teeth"]) % givens["chain_links"]
        cam = (cam + givens["crank_teeth"]) % givens["cam_teeth"]
        turns += 1
    return turns


def ratio_by_speeds(givens: Givens) -> float:
    """Follow one turn of the crank to the last shaft, pitch by pitch, and turn it over."""
    speed = Fraction(1)
    for driving, driven in zip(givens["driver_teeth"], givens["driven_teeth"], strict=True):
        pitches = speed * driving
        speed = pitches / driven
    return float(1 / speed)


NUMBERS: dict[str, Callable[[Givens], float]] = {
    "firing-interval": lambda g: float(np.linspace(0, 720, g["cylinders"] + 1)[1]),
    "cylinder-angle": own_angle_by_turning,
    "piston-drop": lambda g: drop_by_solving(g["stroke_mm"], g["rod_mm"], g["crank_deg"]),
    "angle-for-drop": angle_by_solving,
    "safe-position": lambda g: safest_by_trying(g)[0],
    "safe-margin": margin_by_trying,
    "positive-stop": wheel_error_by_equations,
    "displacement": displacement_by_integration,
    "compression-ratio": ratio_by_volumes,
    "tooth-degrees": tooth_by_chain,
    "pins-apart": error_by_pulling,
    "belt-teeth-apart": error_by_laying_the_belt,
    "pins-between": pins_by_walking,
    "mark-angle": mark_by_turning,
    "marks-realign": realign_by_turning,
    "marks-realign-cam": realign_with_cam_by_turning,
    "drive-ratio": ratio_by_speeds,
}
