"""Wrong ideas on valves, computed again from what the prompt gives.

Each function says what somebody with that idea gets.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import accumulate

import valve_ways
from valve_ways import Givens, own_deg

Wrong = Callable[[Givens], object]


def other(givens: Givens, **changes: object) -> Givens:
    return {**givens, **changes}


def at_tdc(givens: Givens, valve: str | None = None) -> float:
    return givens["ivo_btdc" if (valve or givens["valve"]) == "intake" else "evc_atdc"]


def at_bdc(givens: Givens, valve: str | None = None) -> float:
    return givens["ivc_abdc" if (valve or givens["valve"]) == "intake" else "evo_bbdc"]


def other_valve(givens: Givens) -> Givens:
    return other(givens, valve="exhaust" if givens["valve"] == "intake" else "intake")


def lasts(givens: Givens, valve: str) -> float:
    return 180 + at_tdc(givens, valve) + at_bdc(givens, valve)


def centre(givens: Givens, valve: str) -> float:
    return lasts(givens, valve) / 2 - at_tdc(givens, valve)


def shifted(share: float, teeth: int = 0) -> Wrong:
    """The event moved by a share of its true shift, or as for so many teeth more."""

    def found(givens: Givens) -> float:
        before = givens[givens["event"]]
        more = other(givens, teeth_off=givens["teeth_off"] + teeth)
        return before + share * (valve_ways.event_after_slip(more) - before)

    return found


def mirrored(givens: Givens) -> float:
    """Before for after."""
    name = givens["event"]
    return (2 * valve_ways.DEAD_CENTRES[name] - own_deg(name, givens[name])) % 720


def parked(givens: Givens) -> float:
    return givens["ivo_btdc"] + givens["evc_atdc"]


def moved(intake: float, exhaust: float) -> Wrong:
    """Parked overlap with shares of what the phasers do to it."""
    return lambda g: (
        parked(g) + intake * g["intake_advanced_deg"] + exhaust * g.get("exhaust_retarded_deg", 0)
    )


def bore_lift(givens: Givens) -> float:
    return givens["lift_mm"] * math.cos(math.radians(givens["angle_deg"]))


def teeth_within(room: str, tooth_share: float) -> Wrong:
    """First whole tooth beyond a room, a tooth taken for a multiple of what it is."""

    def found(givens: Givens) -> int:
        ways = {"advanced": "retarded", "retarded": "advanced"}
        way = givens["direction"] if room == "own" else ways[givens["direction"]]
        tooth = tooth_share * 720 / givens["cam_teeth"]
        return math.floor(givens[f"{way}_room_deg"] / tooth) + 1

    return found


def left(teeth: int = 0, share: float = 1.0, *, swapped: bool = False) -> Wrong:
    """Room that is left, in degrees."""

    def found(givens: Givens) -> float:
        ways = {"advanced": "retarded", "retarded": "advanced"}
        way = ways[givens["direction"]] if swapped else givens["direction"]
        shift = (givens["teeth_off"] + teeth) * share * 720 / givens["cam_teeth"]
        return givens[f"{way}_room_deg"] - shift

    return found


def opened(cylinder_deg: Callable[[Givens, dict[int, float]], dict[int, float]]) -> Wrong:
    """Open valves with the cylinders' firing angles taken otherwise."""

    def found(givens: Givens) -> set[str]:
        order, intervals = givens["firing_order"], givens["intervals"]
        times = dict(zip(order, [0.0, *accumulate(intervals)][:-1], strict=True))
        times = {c: t - times[1] for c, t in times.items()}
        taken = cylinder_deg(givens, times)
        late = 0.0
        if "teeth_off" in givens:
            turned = givens["teeth_off"] * 720 / givens["cam_teeth"]
            late = turned if givens["direction"] == "retarded" else -turned
        return _open_at(givens, taken, late)

    return found


def _open_at(givens: Givens, taken: dict[int, float], late: float) -> set[str]:
    found = set()
    for cylinder, time in taken.items():
        here = round((givens["crank_deg"] - time) * 2) % 1440
        for valve in ("intake", "exhaust"):
            if here in valve_ways.open_steps(givens, valve, late):
                found.add(f"cylinder {cylinder} {valve}")
    return found


def slipped(way: float) -> Wrong:
    """Open valves with the slip left out or turned round."""

    def found(givens: Givens) -> set[str]:
        if not way:
            kept = {k: v for k, v in givens.items() if k != "teeth_off"}
            return valve_ways.open_valves(kept)
        ways = {"advanced": "retarded", "retarded": "advanced"}
        return valve_ways.open_valves(other(givens, direction=ways[givens["direction"]]))

    return found


def own_stroke(givens: Givens) -> set[str]:
    order, intervals = givens["firing_order"], givens["intervals"]
    times = dict(zip(order, [0.0, *accumulate(intervals)][:-1], strict=True))
    strokes = {
        c: int(((givens["crank_deg"] - t + times[1]) % 720) // 180) for c, t in times.items()
    }
    names = {1: "exhaust", 2: "intake"}
    return {f"cylinder {c} {names[s]}" for c, s in strokes.items() if s in names}


def by_number(givens: Givens, _: dict[int, float]) -> dict[int, float]:
    turned = [0.0, *accumulate(givens["intervals"])]
    return {cylinder: turned[cylinder - 1] for cylinder in givens["firing_order"]}


def ordered(**changes: Wrong) -> Wrong:
    """Order of the events with some of the card's angles taken otherwise."""

    def found(givens: Givens) -> list[str]:
        return valve_ways.events_in_order(
            other(givens, **{name: change(givens) for name, change in changes.items()})
        )

    return found


def negative(name: str) -> Wrong:
    return lambda g: -g[name]


def size(name: str) -> Wrong:
    return lambda g: abs(g[name])


# family, or family and asked quantity -> misconception -> what it computes
WRONG: dict[str, dict[str, Wrong]] = {
    "duration": {
        "half-turn-forgotten": lambda g: at_tdc(g) + at_bdc(g),
        "half-turn-taken-as-whole": lambda g: 360 + at_tdc(g) + at_bdc(g),
        "events-in-cam-degrees": lambda g: valve_ways.duration(g) / 2,
        "early-opening-shortens": lambda g: 180 + abs(at_bdc(g) - at_tdc(g)),
        "event-side-ignored": lambda g: 180 + abs(at_tdc(g)) + abs(at_bdc(g)),
        "other-valve-read": lambda g: valve_ways.duration(other_valve(g)),
    },
    "overlap": {
        "overlap-at-bottom": lambda g: g["ivc_abdc"] + g["evo_bbdc"],
        "overlap-as-difference": lambda g: abs(g["ivo_btdc"] - g["evc_atdc"]),
        "overlap-one-valve-only": lambda g: g["evc_atdc"],
        "events-in-cam-degrees": lambda g: valve_ways.overlap(g) / 2,
        "event-side-ignored": lambda g: abs(g["ivo_btdc"]) + abs(g["evc_atdc"]),
        "overlap-gap-added-up": lambda g: -abs(g["ivo_btdc"]) - abs(g["evc_atdc"]),
        "before-after-swapped": lambda g: -valve_ways.overlap(g),
        "other-valve-read": lambda g: g["ivo_btdc"] + g["evo_bbdc"],
    },
    "lobe-centre": {
        "lobe-centre-half-duration": lambda g: valve_ways.duration(g) / 2,
        "lobe-centre-angle-added": lambda g: valve_ways.duration(g) / 2 + at_tdc(g),
        "lobe-centre-from-bottom": lambda g: valve_ways.duration(g) / 2 - at_bdc(g),
        "half-turn-forgotten": lambda g: (at_tdc(g) + at_bdc(g)) / 2 - at_tdc(g),
        "events-in-cam-degrees": lambda g: valve_ways.lobe_centre(g) / 2,
        "event-side-ignored": lambda g: (180 + at_bdc(g) + abs(at_tdc(g))) / 2 - abs(at_tdc(g)),
        "other-valve-read": lambda g: valve_ways.lobe_centre(other_valve(g)),
    },
    "lobe-separation": {
        "separation-in-crank-degrees": lambda g: centre(g, "intake") + centre(g, "exhaust"),
        "separation-as-one-centre": lambda g: centre(g, "intake"),
        "separation-without-overlap": lambda g: (lasts(g, "intake") + lasts(g, "exhaust")) / 4,
        "lobe-centre-angle-added": lambda g: (
            sum(lasts(g, valve) / 2 + at_tdc(g, valve) for valve in ("intake", "exhaust")) / 2
        ),
        "advance-moves-separation": lambda g: valve_ways.lobe_separation(g) - g["advanced_deg"] / 2,
    },
    "events-after-slip": {
        "slip-in-cam-degrees": shifted(0.5),
        "slip-at-crank-teeth": shifted(2),
        "slip-wrong-way": shifted(-1),
        "slip-sign-alike": shifted(-1),
        "slip-start-tooth-counted": shifted(1, teeth=1),
        "event-side-ignored": lambda g: abs(valve_ways.event_after_slip(g)),
    },
    "event-angle crank_deg": {
        "firing-tdc-for-exhaust-tdc": lambda g: (valve_ways.event_angle(g) + 360) % 720,
        "before-after-swapped": mirrored,
        "event-at-wrong-dead-centre": lambda g: (valve_ways.event_angle(g) + 180) % 720,
        "events-in-cam-degrees": lambda g: valve_ways.event_angle(g) / 2,
    },
    "slip-from-events": {
        "slip-wrong-way": lambda g: -valve_ways.teeth_from_event(g),
        "slip-in-cam-degrees": lambda g: valve_ways.teeth_from_event(
            other(g, cam_teeth=2 * g["cam_teeth"])
        ),
        "slip-at-crank-teeth": lambda g: valve_ways.teeth_from_event(g) / 2,
        "slip-start-tooth-counted": lambda g: (
            valve_ways.teeth_from_event(g) + (1 if valve_ways.teeth_from_event(g) > 0 else -1)
        ),
    },
    "phaser-overlap": {
        "phaser-in-cam-degrees": moved(0.5, 0.5),
        "phaser-retards-intake": moved(-1, 1),
        "phaser-shifts-both-ends": moved(2, 2),
        "slip-not-applied": moved(0, 0),
        "phaser-exhaust-wrong-way": moved(1, -1),
        "overlap-at-bottom": lambda g: (
            g["ivc_abdc"]
            - g["intake_advanced_deg"]
            + g["evo_bbdc"]
            - g.get("exhaust_retarded_deg", 0)
        ),
    },
    "piston-valve-gap": {
        "lift-added-to-drop": lambda g: g["drop_mm"] + g["pocket_mm"] + bore_lift(g),
        "pocket-forgotten": lambda g: g["drop_mm"] - bore_lift(g),
        "piston-taken-at-tdc": lambda g: g["pocket_mm"] - bore_lift(g),
        "valve-tilt-ignored": lambda g: g["drop_mm"] + g["pocket_mm"] - g["lift_mm"],
        "sine-for-cosine": lambda g: (
            g["drop_mm"] + g["pocket_mm"] - bore_lift(other(g, angle_deg=90 - g["angle_deg"]))
        ),
        "drop-taken-off": lambda g: g["pocket_mm"] + bore_lift(g) - g["drop_mm"],
    },
    "slip-tolerance teeth": {
        "contact-in-cam-degrees": teeth_within("own", 0.5),
        "contact-never-by-tooth": lambda g: valve_ways.first_contact_teeth(g) - 1,
        "slip-room-swapped": teeth_within("other", 1),
        "slip-at-crank-teeth": teeth_within("own", 2),
        "slip-start-tooth-counted": lambda g: valve_ways.first_contact_teeth(g) + 1,
        "contact-at-first-tooth": lambda _: 1,
    },
    "slip-tolerance left_deg": {
        "contact-in-cam-degrees": left(share=0.5),
        "slip-room-swapped": left(swapped=True),
        "slip-at-crank-teeth": left(share=2),
        "slip-start-tooth-counted": left(teeth=1),
    },
    "valves-open": {
        "firing-tdc-for-exhaust-tdc": opened(lambda _, t: {c: d - 360 for c, d in t.items()}),
        "cylinders-fire-in-number-order": opened(by_number),
        "cycle-counted-backwards": opened(lambda _, t: {c: -d for c, d in t.items()}),
        "valve-open-in-own-stroke-only": own_stroke,
        "slip-not-applied": slipped(0),
        "slip-wrong-way": slipped(-1),
    },
    "valve-order": {
        "exhaust-shut-before-intake": ordered(
            ivo_btdc=lambda g: -abs(g["ivo_btdc"]) - 1, evc_atdc=lambda _: -0.5
        ),
        "event-side-ignored": ordered(ivo_btdc=size("ivo_btdc"), evc_atdc=size("evc_atdc")),
        "intake-shut-at-bottom": ordered(ivc_abdc=negative("ivc_abdc")),
        "exhaust-opens-after-bottom": ordered(evo_bbdc=negative("evo_bbdc")),
        "before-after-swapped": ordered(
            ivo_btdc=negative("ivo_btdc"), evc_atdc=negative("evc_atdc")
        ),
    },
}
