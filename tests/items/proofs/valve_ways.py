"""Second ways to the keys on valves: by walking round the cycle step by step, and by vectors.

Each function takes the givens of an item as plain values and returns what the key should be.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from itertools import accumulate

Givens = Mapping[str, object]
HALF = 2  # steps of half a degree: cards give whole degrees
FULL = 720 * HALF
DEAD_CENTRES = {"ivo_btdc": 360, "ivc_abdc": 540, "evo_bbdc": 180, "evc_atdc": 360}
BEFORE = {"ivo_btdc", "evo_bbdc"}
TITLES = {
    "ivo_btdc": "intake opens",
    "ivc_abdc": "intake closes",
    "evo_bbdc": "exhaust opens",
    "evc_atdc": "exhaust closes",
}


def own_deg(name: str, value: float) -> float:
    """Walk from the dead centre backwards or forwards."""
    return DEAD_CENTRES[name] + (-value if name in BEFORE else value)


def open_steps(givens: Givens, valve: str, late_deg: float = 0.0) -> set[int]:
    """Walk in half degrees from the opening until the closing is met."""
    first, last = ("ivo_btdc", "ivc_abdc") if valve == "intake" else ("evo_bbdc", "evc_atdc")
    start = round((own_deg(first, givens[first]) + late_deg) * HALF)
    end = round((own_deg(last, givens[last]) + late_deg) * HALF)
    steps = set()
    here = start
    while here % FULL != end % FULL:
        steps.add(here % FULL)
        here += 1
    return steps


def duration(givens: Givens) -> float:
    return len(open_steps(givens, str(givens["valve"]))) / HALF


def overlap(givens: Givens) -> float:
    """Count where both are open; without any, where both are shut about exhaust TDC."""
    ahead = -float(givens.get("intake_advanced_deg", 0))
    behind = float(givens.get("exhaust_retarded_deg", 0))
    intake, exhaust = open_steps(givens, "intake", ahead), open_steps(givens, "exhaust", behind)
    both = intake & exhaust
    if both:
        return len(both) / HALF
    near = range(240 * HALF, 500 * HALF)
    return -sum(step not in intake and step not in exhaust for step in near) / HALF


def _middle(steps: set[int]) -> float:
    """Angle on the crank circle that balances all steps, as the sum of pointers shows."""
    turn = sum(cmath.exp(1j * math.radians((step + 0.5) / HALF)) for step in steps)
    return math.degrees(cmath.phase(turn)) % 360


def lobe_centre(givens: Givens) -> float:
    middle = _middle(open_steps(givens, str(givens["valve"])))
    return middle if givens["valve"] == "intake" else (360 - middle) % 360


def lobe_separation(givens: Givens) -> float:
    """Let the cam turn once while the crank turns twice, and measure between the lobes."""
    late = -float(givens.get("advanced_deg", 0))
    pointers = [
        sum(
            cmath.exp(1j * math.radians((step + 0.5) / HALF / 2))
            for step in open_steps(givens, valve, late)
        )
        for valve in ("intake", "exhaust")
    ]
    return abs(math.degrees(cmath.phase(pointers[0] / pointers[1])))


def event_after_slip(givens: Givens) -> float:
    """Turn the crank on until the lagging cam has made good its teeth, and read the event."""
    name = str(givens["event"])
    cam_turned = givens["teeth_off"] * 360 / givens["cam_teeth"]
    crank = own_deg(name, givens[name])
    late = sum(cam_turned for _ in range(2))  # two crank turns to each of the cam
    crank += late if givens["direction"] == "retarded" else -late
    past = crank - DEAD_CENTRES[name]
    return -past if name in BEFORE else past


def event_angle(givens: Givens) -> float:
    name = str(givens["event"])
    return own_deg(name, givens[name]) % 720


def teeth_from_event(givens: Givens) -> int:
    """Try every slip and keep the one that comes nearest to what was measured."""
    name = str(givens["event"])
    tries = {}
    for teeth in range(-8, 9):
        way = "retarded" if teeth > 0 else "advanced"
        slipped = {**givens, "teeth_off": abs(teeth), "direction": way}
        tries[teeth] = abs(event_after_slip(slipped) - givens["measured_deg"])
    assert name in TITLES
    return min(tries, key=lambda teeth: tries[teeth])


def gap(givens: Givens) -> float:
    """Move a point of the valve along its leaning axis and look how near the crown it comes."""
    axis = cmath.rect(1, math.radians(-90 + givens["angle_deg"]))  # down, leaning
    edge = givens["lift_mm"] * axis
    crown = -givens["pocket_mm"] - givens["drop_mm"]
    return edge.imag - crown


def open_valves(givens: Givens) -> set[str]:
    order, intervals = givens["firing_order"], givens["intervals"]
    times = dict(zip(order, [0.0, *accumulate(intervals)][:-1], strict=True))
    late = 0.0
    if "teeth_off" in givens:
        turned = givens["teeth_off"] * 720 / givens["cam_teeth"]
        late = turned if givens["direction"] == "retarded" else -turned
    found = set()
    for cylinder, time in times.items():
        here = round((givens["crank_deg"] - time + times[1]) * HALF) % FULL
        for valve in ("intake", "exhaust"):
            if here in open_steps(givens, valve, late):
                found.add(f"cylinder {cylinder} {valve}")
    return found


def events_in_order(givens: Givens) -> list[str]:
    """Walk in half degrees from firing TDC and write down what is met."""
    met = {round(own_deg(name, givens[name]) * HALF): TITLES[name] for name in TITLES}
    met |= {360: "BDC after power", 720: "exhaust TDC", 1080: "BDC after intake"}
    return [met[step] for step in range(FULL) if step in met]


def match(givens: Givens) -> dict[str, str]:
    return {
        TITLES[name].capitalize(): f"{round(own_deg(name, givens[name]) % 720)}°" for name in TITLES
    }


def first_contact_teeth(givens: Givens) -> int:
    """Slip tooth by tooth, two crank turns to a cam turn, until the room is used up."""
    room = givens[f"{givens['direction']}_room_deg"]
    teeth = 0
    while teeth * 2 * (360 / givens["cam_teeth"]) <= room:
        teeth += 1
    return teeth


def room_left(givens: Givens) -> float:
    room = givens[f"{givens['direction']}_room_deg"]
    for _ in range(givens["teeth_off"]):
        room -= 2 * (360 / givens["cam_teeth"])
    return room


# family, or family and asked quantity -> second way
NUMBERS: dict[str, Callable[[Givens], float]] = {
    "duration": duration,
    "overlap": overlap,
    "lobe-centre": lobe_centre,
    "lobe-separation": lobe_separation,
    "events-after-slip": event_after_slip,
    "event-angle": event_angle,
    "slip-from-events": teeth_from_event,
    "phaser-overlap": overlap,
    "piston-valve-gap": gap,
    "slip-tolerance teeth": first_contact_teeth,
    "slip-tolerance left_deg": room_left,
}
