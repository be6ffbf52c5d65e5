"""Wrong ideas on chains, wear, signals, torque and belts, computed again from the prompt."""

from __future__ import annotations

import math
from collections.abc import Callable

import workshop_ways as ways
from workshop_ways import LBF_N, Givens

Wrong = Callable[[Givens], object]
KGF_N = 9.80665
GROOVE = "not yet: {:.1f} mm are left", "yes: it came out {:.1f} mm ago"


def other(givens: Givens, **changes: object) -> Givens:
    return {**givens, **changes}


def halves(givens: Givens) -> float:
    return (givens["small_teeth"] + givens["large_teeth"]) / 2


def centres(givens: Givens) -> float:
    return givens["centre_distance_mm"] / givens["pitch_mm"]


def slant(givens: Givens) -> float:
    apart = givens["large_teeth"] - givens["small_teeth"]
    return apart**2 / (4 * math.pi**2 * centres(givens))


LENGTHS: dict[str, Wrong] = {
    "length-without-correction": lambda g: 2 * centres(g) + halves(g),
    "full-teeth-for-half": lambda g: 2 * centres(g) + 2 * halves(g) + slant(g),
    "one-strand-only": lambda g: centres(g) + halves(g) + slant(g),
    "teeth-of-one-sprocket": lambda g: 2 * centres(g) + g["small_teeth"] + slant(g),
    "correction-without-pi": lambda g: (
        2 * centres(g) + halves(g) + slant(g) * 4 * math.pi * math.pi
    ),
    "tooth-count-for-wrap": lambda g: 2 * centres(g) + 2 * halves(g) / math.pi,
}


def even_up(idea: Wrong) -> Wrong:
    return lambda g: next(pins for pins in range(2, 2000, 2) if pins >= idea(g))


def solved(strands: float, givens: Givens) -> float:
    """Positive centre distance of 2C + spread/C = strands, in mm."""
    spread = ((givens["large_teeth"] - givens["small_teeth"]) / math.tau) ** 2
    return (strands + math.sqrt(strands**2 - 8 * spread)) / 4 * givens["pitch_mm"]


def left_over(givens: Givens) -> float:
    return givens["length_pitches"] - halves(givens)


def wrap(lean: Callable[[float], float], *, both: int = 2) -> Wrong:
    """Wrap with the slant of a strand taken for something else."""

    def found(givens: Givens) -> float:
        small, large = (
            ways.diameter_by_closing(givens["pitch_mm"], givens[f"{one}_teeth"])
            for one in ("small", "large")
        )
        sine = (large - small) / 2 / givens["centre_distance_mm"]
        sign = -1 if givens["sprocket"] == "small" else 1
        return 180 + sign * both * math.degrees(lean(sine))

    return found


WRAPS: dict[str, Wrong] = {
    "wrap-of-the-other": lambda g: 360 - ways.chain_wrap(g),
    "wrap-always-half": lambda _: 180,
    "wrap-one-side-only": wrap(math.asin, both=1),
    "wrap-from-diameters": wrap(lambda sine: math.asin(2 * sine)),
}


def meshed(idea: Wrong) -> Wrong:
    return lambda g: idea(g) * g[f"{g['sprocket']}_teeth"] / 360


def growth(givens: Givens) -> float:
    return givens["length_mm"] - givens["pitches_measured"] * givens["pitch_mm"]


def pitches(more: int) -> Wrong:
    return lambda g: ways.elongation(other(g, pitches_measured=g["pitches_measured"] + more))


def groove_words(left: Wrong) -> Wrong:
    def found(givens: Givens) -> str:
        mm = left(givens)
        return (GROOVE[0] if mm > 0 else GROOVE[1]).format(abs(mm))

    return found


GROOVES: dict[str, Wrong] = {
    "travel-for-extension": lambda g: (
        g["groove_at_mm"] - (g["extension_now_mm"] - g["extension_new_mm"])
    ),
    "groove-from-new": lambda g: g["groove_at_mm"] + g["extension_new_mm"] - g["extension_now_mm"],
    "groove-means-fully-out": lambda g: g["longest_mm"] - g["extension_now_mm"],
    "new-extension-for-now": lambda g: g["groove_at_mm"] - g["extension_new_mm"],
}


def travelled(givens: Givens) -> float:
    return givens["extension_now_mm"] - givens["extension_new_mm"]


def turn(value: float) -> float:
    return round(value, 6) % 360


def step(givens: Givens) -> float:
    return 360 / givens["places"]


def teeth(givens: Givens) -> int:
    return givens["places"] - givens["missing"]


def apart(givens: Givens) -> int:
    return givens["measured_tooth"] - givens["specified_tooth"]


def reach(cosine: Callable[[float], float]) -> Wrong:
    """Setting with the adapter's angle put through another function."""

    def found(givens: Givens) -> float:
        wrench = givens["wrench_mm"]
        more = givens["adapter_mm"] * cosine(math.radians(givens["angle_deg"]))
        return givens["torque_nm"] * wrench / (wrench + more)

    return found


def lbf_ft(givens: Givens) -> float:
    return givens["torque_lbf_ft"]


def foot_of_inches(givens: Givens) -> float:
    return givens["torque_lbf_in"] / 12


NM = LBF_N * 0.3048


def marked(*stages: Callable[[Givens], float]) -> Wrong:
    return lambda g: sum(stage(g) for stage in stages) % 360


def all_stages(givens: Givens) -> float:
    return math.fsum(givens["stages_deg"])


def start(givens: Givens) -> float:
    return givens["start_deg"]


def strands(givens: Givens) -> float:
    step_mm = (givens["large_mm"] - givens["small_mm"]) / 2
    return 2 * math.sqrt(givens["centre_mm"] ** 2 - step_mm**2)


def circles(givens: Givens) -> float:
    """Half of each circumference."""
    return math.pi * (givens["small_mm"] + givens["large_mm"]) / 2


def ratio(givens: Givens) -> float:
    return givens["driver_mm"] / givens["driven_mm"]


def lost(givens: Givens) -> float:
    return ways.driven_by_rim(givens) - givens["measured_rpm"]


def moved(givens: Givens, *, last_to: int = 0, first_to: int = 0) -> list[str]:
    order = ways.strands_by_balance(givens, [3.0] * len(givens["shafts"]))
    if last_to:
        order.insert(last_to, order.pop())
    if first_to:
        order.insert(len(order) + first_to - 1, order.pop(0))
    return order


def middle_turned(givens: Givens) -> list[str]:
    first, *middle, last = ways.strands_by_balance(givens, [3.0] * len(givens["shafts"]))
    return [first, *reversed(middle), last]


# family, or family and asked quantity -> misconception -> what it computes
WRONG: dict[str, dict[str, Wrong]] = {
    "pitch-diameter": {
        "pitch-as-arc": lambda g: g["teeth"] * g["pitch_mm"] / math.pi,
        "radius-for-diameter": lambda g: ways.diameter_by_closing(g["pitch_mm"], g["teeth"]) / 2,
        "whole-tooth-angle": lambda g: g["pitch_mm"] / math.sin(math.radians(360 / g["teeth"])),
        "tangent-for-sine": lambda g: g["pitch_mm"] / math.tan(math.radians(180 / g["teeth"])),
        "teeth-one-off": lambda g: ways.diameter_by_closing(g["pitch_mm"], g["teeth"] + 1),
    },
    "chain-length pitches": LENGTHS,
    "chain-length pins": {
        **{name: even_up(idea) for name, idea in LENGTHS.items()},
        "length-rounded-down": lambda g: ways.pins_to_order(g) - 2,
        "odd-count-taken": lambda g: next(
            pins for pins in range(1, 2000, 2) if pins >= ways.chain_length(g)
        ),
    },
    "centre-distance": {
        "length-without-correction": lambda g: left_over(g) / 2 * g["pitch_mm"],
        "centre-double": lambda g: 2 * ways.centre_by_solving(g),
        "full-teeth-for-half": lambda g: solved(left_over(g) - halves(g), g),
        "teeth-of-one-sprocket": lambda g: solved(g["length_pitches"] - g["small_teeth"], g),
        "wrap-forgotten": lambda g: g["length_pitches"] / 2 * g["pitch_mm"],
        "pitch-as-centimetre": lambda g: ways.centre_by_solving(other(g, pitch_mm=10)),
    },
    "wrap-angle wrap_deg": WRAPS,
    "wrap-angle teeth_in_mesh": {name: meshed(idea) for name, idea in WRAPS.items()},
    "speed-ripple percent": {
        "ripple-whole-tooth-angle": lambda g: 100 * (1 - math.cos(math.radians(360 / g["teeth"]))),
        "ripple-one-over-teeth": lambda g: 100 / g["teeth"],
        "ripple-halved": lambda g: ways.ripple(g["teeth"]) / 2,
        "ripple-as-sine": lambda g: 100 * (1 - math.cos(math.radians(90 / g["teeth"]))),
    },
    "speed-ripple percent_of_before": {
        "ripple-one-over-teeth": lambda g: 100 * g["teeth"] / g["new_teeth"],
        "ripple-same-for-all": lambda _: 100,
        "ripple-grows-with-teeth": lambda g: 100 * g["new_teeth"] / g["teeth"],
        "ripple-cubed": lambda g: 100 * (g["teeth"] / g["new_teeth"]) ** 3,
    },
    "elongation": {
        "pins-between-for-pitches": pitches(-1),
        "pins-counted-for-pitches": pitches(1),
        "growth-mm-for-percent": growth,
        "growth-per-pitch": lambda g: 10 * growth(g) / g["pitches_measured"],
        "growth-of-a-metre": lambda g: 100 * growth(g) / 1000,
        "growth-at-both-pins": lambda g: 2 * ways.elongation(g),
        "growth-over-worn-length": lambda g: 100 * growth(g) / g["length_mm"],
    },
    "wear-retard": {
        "retard-in-cam-degrees": lambda g: ways.retard_by_rolling(g) / 2,
        "both-strands-retard": lambda g: ways.retard_by_rolling(
            other(g, strand_mm=2 * g["strand_mm"])
        ),
        "stretch-over-diameter": lambda g: ways.retard_by_rolling(g) * math.pi,
        "elongation-as-part-of-turn": lambda g: 360 * g["elongation_percent"] / 100,
        "long-strand-advances": lambda g: -ways.retard_by_rolling(g),
    },
    "plunger-travel left_mm": GROOVES,
    "plunger-travel groove_seen": {name: groove_words(idea) for name, idea in GROOVES.items()},
    "plunger-travel thousand_km": {
        "travel-for-extension": lambda g: g["thousand_km"] * g["groove_at_mm"] / travelled(g),
        "extension-for-travel": lambda g: (
            g["thousand_km"] * g["groove_at_mm"] / g["extension_now_mm"]
        ),
        "groove-means-fully-out": lambda g: ways.km_at_groove(
            other(g, groove_at_mm=g["longest_mm"])
        ),
        "left-for-total": lambda g: ways.km_at_groove(g) - g["thousand_km"],
    },
    "belt-setting": {
        "belt-always-as-new": lambda g: g["tension_new_n"],
        "belt-age-swapped": lambda g: g["tension_used_n"],
        "belt-set-midway": lambda g: (g["tension_new_n"] + g["tension_used_n"]) / 2,
        "belt-old-set-tighter": lambda g: 2 * g["tension_new_n"] - g["tension_used_n"],
        "belt-slack-for-life": lambda g: 2 * g["tension_used_n"] - g["tension_new_n"],
    },
    "span-tension": {
        "span-factor-four-forgotten": lambda g: ways.tension_by_tuning(g) / 4,
        "span-factor-two": lambda g: ways.tension_by_tuning(g) / 2,
        "belt-mass-for-mass-per-metre": lambda g: ways.tension_by_tuning(
            other(g, mass_kg_m=g["mass_kg_m"] * g["span_m"])
        ),
        "span-length-not-squared": lambda g: (
            4 * g["mass_kg_m"] * g["span_m"] * g["frequency_hz"] ** 2
        ),
        "span-frequency-as-octave": lambda g: ways.tension_by_tuning(
            other(g, frequency_hz=2 * g["frequency_hz"])
        ),
    },
    "wheel-tooth tooth_deg": {
        "missing-teeth-spread-out": lambda g: 360 / teeth(g),
        "degree-as-part-of-cycle": lambda g: 2 * ways.step(g),
        "tooth-width-for-step": lambda g: ways.step(g) / 2,
        "missing-teeth-added": lambda g: 360 / (g["places"] + g["missing"]),
    },
    "wheel-tooth gap_deg": {
        "gap-is-missing-only": lambda g: ways.widest(g) - step(g),
        "gap-one-place-too-many": lambda g: ways.widest(g) + step(g),
        "missing-teeth-spread-out": lambda g: 360 / teeth(g) * (g["missing"] + 1),
        "degree-as-part-of-cycle": lambda g: 2 * ways.widest(g),
    },
    "wheel-tooth pulses_per_s": {
        "missing-teeth-taken-as-there": lambda g: ways.pulses(other(g, missing=0)),
        "signal-at-cam-speed": lambda g: ways.pulses(g) / 2,
        "signal-per-cycle": lambda g: 2 * ways.pulses(g),
        "gap-counted-as-pulse": lambda g: ways.pulses(g) + g["rpm"] / 60,
    },
    "tooth-at-edge crank_deg": {
        "first-tooth-counted-as-step": lambda g: turn(g["first_edge_deg"] + g["tooth"] * step(g)),
        "missing-teeth-spread-out": lambda g: turn(
            g["first_edge_deg"] + (g["tooth"] - 1) * 360 / teeth(g)
        ),
        "edge-offset-forgotten": lambda g: turn((g["tooth"] - 1) * step(g)),
        "edge-offset-taken-off": lambda g: turn((g["tooth"] - 1) * step(g) - g["first_edge_deg"]),
        "gap-counted-again": lambda g: turn(ways.edge_deg(g) + g["missing"] * step(g)),
    },
    "tooth-at-edge tooth": {
        "first-tooth-counted-as-step": lambda g: ways.tooth_by_looking(g) - 1,
        "edge-offset-forgotten": lambda g: ways.tooth_by_looking(other(g, first_edge_deg=0)),
        "missing-teeth-spread-out": lambda g: (
            round((ways.tooth_by_looking(g) - 1) * teeth(g) / g["places"]) + 1
        ),
        "gap-counted-again": lambda g: ways.tooth_by_looking(g) + g["missing"],
        "step-after-tooth-counted": lambda g: ways.tooth_by_looking(g) + 1,
    },
    "degrees-to-ms ms": {
        "time-at-cam-speed": lambda g: 2 * ways.milliseconds(g),
        "degree-as-part-of-cycle": lambda g: ways.milliseconds(g) / 2,
        "minutes-for-seconds": lambda g: 100 * g["deg"] / g["rpm"],
        "time-grows-with-speed": lambda g: g["deg"] / 6 * g["rpm"] / 1000,
    },
    "degrees-to-ms deg": {
        "time-at-cam-speed": lambda g: ways.degrees_late(g) / 2,
        "degree-as-part-of-cycle": lambda g: 2 * ways.degrees_late(g),
        "minutes-for-seconds": lambda g: g["late_ms"] * g["rpm"] / 100,
        "time-grows-with-speed": lambda g: 6000 * g["late_ms"] / g["rpm"],
    },
    "correlation crank_deg": {
        "correlation-in-cam-degrees": lambda g: ways.correlation(g) / 2,
        "correlation-sign-swapped": lambda g: -ways.correlation(g),
        "wheel-tooth-as-cam-tooth": lambda g: apart(g) * 720 / g["cam_teeth"],
        "missing-teeth-spread-out": lambda g: apart(g) * 360 / teeth(g),
        "correlation-doubled": lambda g: 2 * ways.correlation(g),
    },
    "correlation teeth_off": {
        "correlation-sign-swapped": lambda g: -ways.correlation_teeth(g),
        "wheel-tooth-as-cam-tooth": apart,
        "retard-in-cam-degrees": lambda g: round(ways.correlation(g) * g["cam_teeth"] / 360),
        "slip-start-tooth-counted": lambda g: (
            ways.correlation_teeth(g) + (1 if ways.correlation(g) > 0 else -1)
        ),
    },
    "adapter-setting": {
        "adapter-ignored": lambda g: g["torque_nm"],
        "adapter-raises-setting": lambda g: g["torque_nm"] ** 2 / ways.setting_by_moments(g),
        "adapter-angle-ignored": lambda g: ways.setting_by_moments(other(g, angle_deg=0)),
        "adapter-sine": reach(math.sin),
        "adapter-share-of-length": lambda g: (
            g["torque_nm"]
            * (1 - g["adapter_mm"] / g["wrench_mm"] * math.cos(math.radians(g["angle_deg"])))
        ),
        "adapter-length-only": lambda g: (
            g["torque_nm"] - ways.setting_by_moments(other(g, angle_deg=0))
        ),
    },
    "torque-units torque_nm": {
        "pound-feet-read-as-newton-metres": lambda g: (
            lbf_ft(g) if "torque_lbf_ft" in g else foot_of_inches(g)
        ),
        "torque-factor-inverted": lambda g: (
            (lbf_ft(g) if "torque_lbf_ft" in g else foot_of_inches(g)) / NM
        ),
        "kilopond-for-pound": lambda g: lbf_ft(g) * KGF_N,
        "inch-for-foot": lambda g: (
            lbf_ft(g) / 12 * NM if "torque_lbf_ft" in g else foot_of_inches(g) * 12 * NM
        ),
        "mass-without-gravity": lambda g: lbf_ft(g) * NM / KGF_N,
        "inch-as-tenth-of-foot": lambda g: g["torque_lbf_in"] / 10 * NM,
    },
    "torque-units torque_lbf_ft": {
        "pound-feet-read-as-newton-metres": lambda g: g["torque_nm"],
        "torque-factor-inverted": lambda g: g["torque_nm"] * NM,
        "kilopond-for-pound": lambda g: g["torque_nm"] / KGF_N,
        "inch-for-foot": lambda g: g["torque_nm"] / NM * 12,
    },
    "angle-tightening flats": {
        "turn-in-quarter-flats": lambda g: g["angle_deg"] / 90,
        "turn-in-half-corners": lambda g: 2 * ways.flats_by_counting(g),
        "bolt-angle-as-crank-angle": lambda g: ways.flats_by_counting(g) / 2,
        "turn-in-eighths": lambda g: g["angle_deg"] * 8 / 360,
    },
    "angle-tightening mark_deg": {
        "last-stage-only": marked(start, lambda g: g["stages_deg"][-1]),
        "start-of-mark-forgotten": marked(all_stages),
        "bolt-turned-backwards": marked(start, lambda g: -all_stages(g)),
        "bolt-angle-as-crank-angle": marked(start, lambda g: all_stages(g) / 2),
        "first-stage-twice": marked(start, all_stages, lambda g: g["stages_deg"][0]),
    },
    "angle-tightening advance_mm": {
        "bolt-lead-by-half-turn": lambda g: 2 * ways.advance(g),
        "bolt-lead-by-radian": lambda g: math.radians(g["angle_deg"]) * g["thread_pitch_mm"],
        "bolt-lead-by-flat": lambda g: 6 * ways.advance(g),
        "bolt-angle-as-crank-angle": lambda g: ways.advance(g) / 2,
    },
    "damper-arc arc_mm": {
        "damper-radius-for-diameter": lambda g: ways.arc_by_chords(g) / 2,
        "damper-pi-forgotten": lambda g: g["diameter_mm"] * g["deg"] / 360,
        "damper-diameter-as-radius": lambda g: 2 * ways.arc_by_chords(g),
        "damper-chord-for-arc": lambda g: abs(
            g["diameter_mm"]
            / 2
            * (1 - complex(math.cos(math.radians(g["deg"])), math.sin(math.radians(g["deg"]))))
        ),
    },
    "damper-arc crank_deg": {
        "damper-radius-for-diameter": lambda g: 2 * ways.angle_by_arc(g),
        "damper-pi-forgotten": lambda g: g["arc_mm"] / g["diameter_mm"] * 360,
        "damper-in-cam-degrees": lambda g: ways.angle_by_arc(g) / 2,
        "damper-mm-as-degrees": lambda g: g["arc_mm"],
    },
    "pulley-speed driven_rpm": {
        "pulley-ratio-inverted": lambda g: g["driver_rpm"] / ratio(g),
        "pulley-ratio-ignored": lambda g: g["driver_rpm"],
        "pulley-ratio-squared": lambda g: g["driver_rpm"] * ratio(g) * ratio(g),
        "pulley-speed-halved": lambda g: ways.driven_by_rim(g) / 2,
        "pulley-ratio-by-difference": lambda g: g["driver_rpm"] * (2 - 1 / ratio(g)),
    },
    "pulley-speed slip_percent": {
        "slip-over-measured": lambda g: 100 * lost(g) / g["measured_rpm"],
        "slip-against-crank": lambda g: 100 * lost(g) / g["driver_rpm"],
        "slip-rpm-as-percent": lambda g: lost(g) / 100,
        "speed-for-slip": lambda g: 100 - ways.slip(g),
    },
    "belt-length length_mm": {
        "belt-straight-only": lambda g: 2 * g["centre_mm"] + circles(g),
        "belt-half-wrap-both": lambda g: strands(g) + circles(g),
        "belt-full-circles": lambda g: strands(g) + 2 * circles(g),
        "belt-one-strand": lambda g: ways.belt_by_path(g) - g["centre_mm"],
        "belt-radius-for-diameter": lambda g: strands(g) + circles(g) / 2,
        "belt-pi-forgotten": lambda g: strands(g) + circles(g) / math.pi,
    },
    "belt-length wrap_deg": {
        "belt-wrap-swapped": lambda g: 360 - ways.belt_wrap(g),
        "belt-half-wrap-both": lambda _: 180,
        "belt-lean-once": lambda g: (180 + ways.belt_wrap(g)) / 2,
        "belt-radius-for-diameter": lambda g: (
            180 - 2 * math.degrees(math.asin((g["large_mm"] - g["small_mm"]) / g["centre_mm"]))
        ),
    },
    "teeth-in-mesh": {
        "mesh-always-half": lambda g: g["small_teeth"] / 2,
        "mesh-slant-once": lambda g: (ways.belt_mesh(g) + g["small_teeth"] / 2) / 2,
        "mesh-of-the-large": lambda g: g["small_teeth"] - ways.belt_mesh(g),
        "mesh-diameters-for-radii": lambda g: ways.belt_mesh(
            other(g, centre_distance_mm=g["centre_distance_mm"] / 2)
        ),
        "mesh-less-the-ends": lambda g: ways.belt_mesh(g) - 2,
    },
    "roller-speed roller_rpm": {
        "roller-turns-alike": lambda g: -ways.roller_by_rim(g),
        "roller-speed-of-crank": lambda g: -g["crank_rpm"],
        "roller-ratio-inverted": lambda g: g["crank_rpm"] ** 2 / ways.roller_by_rim(g),
        "roller-radius-for-diameter": lambda g: ways.roller_by_rim(
            other(g, roller_mm=g["roller_mm"] / 2)
        ),
        "roller-half-speed": lambda g: -g["crank_rpm"] / 2,
        "roller-pi-forgotten": lambda g: -60 * ways.rim_mm_s(g) / g["roller_mm"],
    },
    "roller-speed crank_rpm": {
        "roller-speed-of-crank": lambda g: g["roller_rpm"],
        "roller-ratio-inverted": lambda g: g["roller_rpm"] ** 2 / ways.crank_by_roller(g),
        "roller-radius-for-diameter": lambda g: ways.crank_by_roller(
            other(g, roller_mm=g["roller_mm"] / 2)
        ),
        "roller-half-speed": lambda g: 2 * g["roller_rpm"],
        "roller-pi-forgotten": lambda g: ways.crank_by_roller(g) / math.pi,
    },
    "belt-renewal": {
        "renewal-by-distance-only": lambda g: ways.months_left(g)["by distance"],
        "renewal-by-age-only": lambda g: ways.months_left(g)["by age"],
        "renewal-halfway": lambda g: sum(ways.months_left(g).values()) / 2,
        "renewal-one-after-the-other": lambda g: sum(ways.months_left(g).values()),
        "renewal-from-today": lambda g: min(
            ways.months_left(other(g, age_months=0, run_km=0)).values()
        ),
    },
    "strand-order": {
        "driver-pushes": lambda g: ways.strands_by_balance(g, [3.0] * len(g["shafts"]))[::-1],
        "tight-both-sides-of-driver": lambda g: moved(g, last_to=1),
        "middle-strands-tightest": lambda g: moved(g, first_to=-1),
        "slack-next-to-tight": middle_turned,
    },
}
