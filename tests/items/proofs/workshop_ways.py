"""Second ways to the keys on chains, wear, signals, torque and belts.

Each function takes the givens of an item as plain values and returns what the key should be,
by solving, by walking, by vectors or in exact fractions.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

Givens = Mapping[str, object]
LBF_N, FOOT_M = 4.4482216152605, 0.3048  # NIST SP 811


# --- chain -------------------------------------------------------------------------------


def diameter_by_closing(pitch_mm: float, teeth: int) -> float:
    """Find the circle round which so many chords of one pitch close."""
    return brentq(
        lambda d: teeth * 2 * math.asin(pitch_mm / d) - 2 * math.pi,
        pitch_mm * 1.0001,
        pitch_mm * teeth,
        xtol=1e-12,
    )


def length_by_formula(centre: float, small: int, large: int) -> float:
    """The trade's formula, as sum of an average wheel, two strands and the slant."""
    slant = (large - small) / math.tau
    return 2 * centre + (small + large) / 2 + slant * slant / centre


def length_by_path(givens: Givens) -> float:
    """Straight strands by Pythagoras, and on each wheel its share of teeth."""
    pitch = givens["pitch_mm"]
    small, large = givens["small_teeth"], givens["large_teeth"]
    radii = [diameter_by_closing(pitch, n) / 2 for n in (small, large)]
    centre = givens["centre_distance_mm"]
    lean = math.atan2(radii[1] - radii[0], math.sqrt(centre**2 - (radii[1] - radii[0]) ** 2))
    strands = 2 * math.sqrt(centre**2 - (radii[1] - radii[0]) ** 2) / pitch
    return strands + small * (0.5 - lean / math.pi) + large * (0.5 + lean / math.pi)


def chain_length(givens: Givens) -> float:
    centre = givens["centre_distance_mm"] / givens["pitch_mm"]
    length = length_by_formula(centre, givens["small_teeth"], givens["large_teeth"])
    # The formula is known to be short of the path by less than a tenth of a pitch.
    assert abs(length - length_by_path(givens)) < 0.1
    return length


def pins_to_order(givens: Givens) -> int:
    return next(pins for pins in range(2, 1000, 2) if pins > chain_length(givens))


def centre_by_solving(givens: Givens) -> float:
    small, large = givens["small_teeth"], givens["large_teeth"]
    pitches = brentq(
        lambda c: length_by_formula(c, small, large) - givens["length_pitches"],
        (large - small) / math.tau + 1,
        givens["length_pitches"],
        xtol=1e-12,
    )
    return pitches * givens["pitch_mm"]


def wrap_by_tangent(small_mm: float, large_mm: float, centre: float, *, of_large: bool) -> float:
    """Turn a line about the small circle until it touches the large one as well."""
    lean = brentq(lambda a: centre * math.sin(a) - (large_mm - small_mm) / 2, -1.5, 1.5, xtol=1e-13)
    return math.degrees(math.pi + 2 * lean if of_large else math.pi - 2 * lean)


def chain_wrap(givens: Givens) -> float:
    small, large = (
        diameter_by_closing(givens["pitch_mm"], givens[f"{name}_teeth"])
        for name in ("small", "large")
    )
    return wrap_by_tangent(
        small, large, givens["centre_distance_mm"], of_large=givens["sprocket"] == "large"
    )


def teeth_in_mesh(givens: Givens) -> float:
    return chain_wrap(givens) * givens[f"{givens['sprocket']}_teeth"] / 360


def belt_mesh(givens: Givens) -> float:
    """Share of the small pulley's teeth within the wrap, its pitch circle as long as its teeth."""
    small, large = (
        givens[f"{name}_teeth"] * givens["pitch_mm"] / math.pi for name in ("small", "large")
    )
    wrap = wrap_by_tangent(small, large, givens["centre_distance_mm"], of_large=False)
    return wrap * givens["small_teeth"] / 360


def rim_mm_s(givens: Givens) -> float:
    """Speed of the belt: pitches that a crank pulley sends, in mm per second."""
    return givens["crank_rpm"] / 60 * givens["crank_teeth"] * givens["pitch_mm"]


def roller_by_rim(givens: Givens) -> float:
    """Let the belt pass the roller; on the back the same velocity turns it the other way."""
    velocity = rim_mm_s(givens) * 1j
    inside, back = (velocity / side for side in (1j * 1.0, -1j * 1.0))  # ω = v / r, r either way
    assert inside.real > 0 > back.real
    return back.real / (givens["roller_mm"] / 2) * 60 / math.tau


def crank_by_roller(givens: Givens) -> float:
    """Try crank speeds until the roller turns as measured."""
    return brentq(
        lambda rpm: -roller_by_rim({**givens, "crank_rpm": rpm}) - givens["roller_rpm"],
        1.0,
        50_000.0,
        xtol=1e-9,
    )


def months_left(givens: Givens) -> dict[str, float]:
    """Share of either limit that is used up, and how long the rest of it lasts."""
    age, run = Fraction(givens.get("age_months", 0)), Fraction(givens.get("run_km", 0))
    limits = {
        "by distance": (run / givens["renew_km"],
                        Fraction(givens["km_a_month"]) / givens["renew_km"]),
        "by age": (age / (12 * givens["renew_years"]), Fraction(1, 12 * givens["renew_years"])),
    }  # fmt: skip
    return {name: float((1 - used) / each) for name, (used, each) in limits.items()}


def ripple(teeth: int) -> float:
    """Let a wheel turn through one tooth and take the chain's fastest and slowest speed."""
    speeds = np.cos(np.linspace(-math.pi / teeth, math.pi / teeth, 201))
    return float(100 * (speeds.max() - speeds.min()) / speeds.max())


def ripple_left(givens: Givens) -> float:
    return 100 * ripple(givens["new_teeth"]) / ripple(givens["teeth"])


def strand_by_velocity(givens: Givens) -> str:
    """On which side the crank sprocket's rim moves down, away from the cam above it, it pulls."""
    spin = 1 if givens["rotation"] == "anticlockwise" else -1
    if givens["seen_from"] == "flywheel end":
        spin = -spin
    rims = {"left": complex(-1, 0), "right": complex(1, 0)}
    down = {side: (spin * 1j * place).imag < 0 for side, place in rims.items()}
    tight = next(side for side, sinks in down.items() if sinks)
    slack = next(side for side, sinks in down.items() if not sinks)
    return f"the {tight if givens['wanted'] == 'tight' else slack}-hand strand"


def strands_by_balance(givens: Givens, loads: list[float]) -> list[str]:
    """Balance each driven wheel: its load is what the strand ahead pulls more than that behind."""
    names = ["crankshaft", *givens["shafts"], "crankshaft"]
    pulls, pull = {}, 10.0  # preload of the slack strand
    for (one, other), load in zip(pairwise(names), [*loads, 0.0], strict=True):
        pulls[f"{one} to {other}"] = pull
        pull += load
    return sorted(pulls, key=lambda strand: -pulls[strand])


# --- wear --------------------------------------------------------------------------------


def elongation(givens: Givens) -> float:
    pitch = Fraction(str(givens["length_mm"])) / givens["pitches_measured"]
    return float(100 * (pitch / Fraction(str(givens["pitch_mm"])) - 1))


def retard_by_rolling(givens: Givens) -> float:
    """Roll the cam sprocket back until it has paid out the growth; the crank follows twice."""
    growth = givens["strand_mm"] * givens["elongation_percent"] / 100
    radius = diameter_by_closing(givens["pitch_mm"], givens["cam_teeth"]) / 2
    return 2 * brentq(lambda deg: math.radians(deg) * radius - growth, 0, 90, xtol=1e-12)


def to_groove(givens: Givens) -> float:
    return float(Fraction(str(givens["groove_at_mm"])) - Fraction(str(givens["extension_now_mm"])))


def km_at_groove(givens: Givens) -> float:
    """Draw the line through new and now, and follow it to the groove."""
    slope, offset = np.polyfit(
        [givens["extension_new_mm"], givens["extension_now_mm"]], [0, givens["thousand_km"]], 1
    )
    return float(slope * givens["groove_at_mm"] + offset)


def belt_tension(givens: Givens) -> float:
    ran_in = givens["belt_age"] >= givens["run_in_minutes"]
    return givens["tension_used_n" if ran_in else "tension_new_n"]


def tension_by_tuning(givens: Givens) -> float:
    """Tighten until the span gives the note: half a wave long, speed √(T/m)."""
    mass, span = givens["mass_kg_m"], givens["span_m"]
    return brentq(
        lambda t: math.sqrt(t / mass) / (2 * span) - givens["frequency_hz"], 1e-6, 1e5, xtol=1e-9
    )


def cause(givens: Givens) -> str:
    """Take the cause that explains the error best: teeth, wear up to its limit, or neither."""
    tooth, error = 720 / givens["cam_teeth"], givens["error_deg"]
    teeth = min(range(-6, 7), key=lambda n: abs(error - n * tooth))
    if teeth:
        way = "retarded" if teeth > 0 else "advanced"
        count = f"{abs(teeth)} {'tooth' if abs(teeth) == 1 else 'teeth'}"
        return f"the chain is off by {count}, {way}"
    if error > 0:
        assert error <= givens["wear_limit_deg"]
        return "stretch of the chain"
    return "neither: look at phaser, marks and tone wheel"


# --- signals -----------------------------------------------------------------------------


def wheel_edges(givens: Givens) -> list[Fraction]:
    """Lay out the places round the wheel and leave out the last ones."""
    places = [Fraction(360 * n, givens["places"]) for n in range(givens["places"])]
    return places[: givens["places"] - givens["missing"]]


def step(givens: Givens) -> float:
    edges = wheel_edges(givens)
    return float(min(b - a for a, b in pairwise(edges)))


def widest(givens: Givens) -> float:
    edges = [*wheel_edges(givens), Fraction(360)]
    return float(max(b - a for a, b in pairwise(edges)))


def pulses(givens: Givens) -> float:
    return float(Fraction(len(wheel_edges(givens)) * givens["rpm"], 60))


def edge_deg(givens: Givens) -> float:
    return (givens["first_edge_deg"] + float(wheel_edges(givens)[givens["tooth"] - 1])) % 360


def tooth_by_looking(givens: Givens) -> int:
    """Look through all teeth for the one whose edge passes there."""
    apart = [
        abs((givens["first_edge_deg"] + float(edge) - givens["crank_deg"] + 180) % 360 - 180)
        for edge in wheel_edges(givens)
    ]
    return apart.index(min(apart)) + 1


def milliseconds(givens: Givens) -> float:
    turn_ms = Fraction(60_000, givens["rpm"])
    return float(turn_ms * Fraction(str(givens["deg"])) / 360)


def degrees_late(givens: Givens) -> float:
    turn_ms = Fraction(60_000, givens["rpm"])
    return float(Fraction(str(givens["late_ms"])) / turn_ms * 360)


def correlation(givens: Givens) -> float:
    edges = wheel_edges(givens)
    return float(edges[givens["measured_tooth"] - 1] - edges[givens["specified_tooth"] - 1])


def correlation_teeth(givens: Givens) -> int:
    late, tooth = correlation(givens), 720 / givens["cam_teeth"]
    return min(range(-6, 7), key=lambda n: abs(late - n * tooth))


# --- fasteners ---------------------------------------------------------------------------


def setting_by_moments(givens: Givens) -> float:
    """Pull at the grip square to the wrench; the moment about the bolt must be the torque."""
    grip = complex(-givens["wrench_mm"], 0)
    bolt = cmath.rect(givens["adapter_mm"], math.radians(givens["angle_deg"]))
    pull = -1j  # N, square to the wrench; reduce to moments about either end

    def moment(about: complex) -> float:
        arm = grip - about
        return abs((arm.conjugate() * pull).imag)

    return givens["torque_nm"] * moment(0j) / moment(bolt)


def newton_metres(givens: Givens) -> float:
    if "torque_lbf_in" in givens:
        return givens["torque_lbf_in"] * LBF_N * 0.0254
    return givens["torque_lbf_ft"] * LBF_N * FOOT_M


def pound_feet(givens: Givens) -> float:
    return givens["torque_nm"] / LBF_N / FOOT_M


def flats_by_counting(givens: Givens) -> float:
    left, flats = givens["angle_deg"], 0
    while left >= 60:
        left, flats = left - 60, flats + 1
    return flats + left / 60


def mark_by_pointer(givens: Givens) -> float:
    pointer = cmath.rect(1, math.radians(givens["start_deg"]))
    for stage in givens["stages_deg"]:
        pointer *= cmath.rect(1, math.radians(stage))
    return round(math.degrees(cmath.phase(pointer)), 9) % 360


def advance(givens: Givens) -> float:
    per_degree = Fraction(str(givens["thread_pitch_mm"])) / 360
    return float(per_degree * Fraction(str(givens["angle_deg"])))


def arc_by_chords(givens: Givens) -> float:
    """Lay very many short chords along the rim."""
    count = 20_000
    half = math.radians(givens["deg"]) / count / 2
    return count * givens["diameter_mm"] * math.sin(half)


def angle_by_arc(givens: Givens) -> float:
    return math.degrees(givens["arc_mm"] / (givens["diameter_mm"] / 2))


# --- accessory ---------------------------------------------------------------------------


def driven_by_rim(givens: Givens) -> float:
    """Equal rim speeds in mm a minute."""
    rim = math.pi * givens["driver_mm"] * givens["driver_rpm"]
    return rim / (math.pi * givens["driven_mm"])


def slip(givens: Givens) -> float:
    """Rim speed that is lost between the pulleys, of what the crankshaft's rim has."""
    first = givens["driver_mm"] * givens["driver_rpm"]
    return 100 * (first - givens["driven_mm"] * givens["measured_rpm"]) / first


def belt_by_path(givens: Givens) -> float:
    small, large, centre = givens["small_mm"], givens["large_mm"], givens["centre_mm"]
    wraps = [wrap_by_tangent(small, large, centre, of_large=big) for big in (False, True)]
    arcs = sum(math.radians(w) * d / 2 for w, d in zip(wraps, (small, large), strict=True))
    return 2 * math.sqrt(centre**2 - ((large - small) / 2) ** 2) + arcs


def belt_wrap(givens: Givens) -> float:
    return wrap_by_tangent(
        givens["small_mm"], givens["large_mm"], givens["centre_mm"], of_large=False
    )


# family, or family and asked quantity -> second way
NUMBERS: dict[str, Callable[[Givens], float]] = {
    "pitch-diameter": lambda g: diameter_by_closing(g["pitch_mm"], g["teeth"]),
    "chain-length pitches": chain_length,
    "chain-length pins": pins_to_order,
    "centre-distance": centre_by_solving,
    "wrap-angle wrap_deg": chain_wrap,
    "wrap-angle teeth_in_mesh": teeth_in_mesh,
    "teeth-in-mesh": belt_mesh,
    "roller-speed roller_rpm": roller_by_rim,
    "roller-speed crank_rpm": crank_by_roller,
    "belt-renewal": lambda g: min(months_left(g).values()),
    "speed-ripple percent": lambda g: ripple(g["teeth"]),
    "speed-ripple percent_of_before": ripple_left,
    "elongation": elongation,
    "wear-retard": retard_by_rolling,
    "plunger-travel left_mm": to_groove,
    "plunger-travel thousand_km": km_at_groove,
    "belt-setting": belt_tension,
    "span-tension": tension_by_tuning,
    "wheel-tooth tooth_deg": step,
    "wheel-tooth gap_deg": widest,
    "wheel-tooth pulses_per_s": pulses,
    "tooth-at-edge crank_deg": edge_deg,
    "tooth-at-edge tooth": tooth_by_looking,
    "degrees-to-ms ms": milliseconds,
    "degrees-to-ms deg": degrees_late,
    "correlation crank_deg": correlation,
    "correlation teeth_off": correlation_teeth,
    "adapter-setting": setting_by_moments,
    "torque-units torque_nm": newton_metres,
    "torque-units torque_lbf_ft": pound_feet,
    "angle-tightening flats": flats_by_counting,
    "angle-tightening mark_deg": mark_by_pointer,
    "angle-tightening advance_mm": advance,
    "damper-arc arc_mm": arc_by_chords,
    "damper-arc crank_deg": angle_by_arc,
    "pulley-speed driven_rpm": driven_by_rim,
    "pulley-speed slip_percent": slip,
    "belt-length length_mm": belt_by_path,
    "belt-length wrap_deg": belt_wrap,
}
