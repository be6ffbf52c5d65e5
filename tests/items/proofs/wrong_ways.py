"""Wrong ideas on cycle, piston and marks, computed again from what the prompt gives.

Each function says what somebody with that idea gets. None where the idea leads nowhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from second_ways import (
    Givens,
    displacement_by_integration,
    drop_by_solving,
    error_by_laying_the_belt,
    error_by_pulling,
    firing_times,
    margin_by_trying,
    mark_by_turning,
    own_angle_by_turning,
    pins_by_walking,
    ratio_by_speeds,
    ratio_by_volumes,
    realign_by_turning,
    realign_with_cam_by_turning,
    safest_by_trying,
    tooth_by_chain,
    wheel_error_by_equations,
)

Wrong = Callable[[Givens], object]


def other(givens: Givens, **changes: object) -> Givens:
    return {**givens, **changes}


def place_in_order(givens: Givens, cylinder: int) -> int:
    order = list(givens["firing_order"])
    return order.index(cylinder) - order.index(1)


def along(places: int) -> Wrong:
    def found(givens: Givens) -> int:
        order = list(givens["firing_order"])
        return order[(order.index(givens["cylinder"]) + places) % len(order)]

    return found


def neighbour(givens: Givens) -> int:
    cylinder = givens["cylinder"]
    return cylinder + 1 if cylinder < max(givens["firing_order"]) else cylinder - 1


def piston(stroke: float = 1.0, deg: float = 1.0) -> Wrong:
    """Drop with stroke or angle taken for a multiple of what they are."""
    return lambda g: drop_by_solving(stroke * g["stroke_mm"], g["rod_mm"], deg * g["crank_deg"])


def rodless(stroke: float, deg: float) -> float:
    return stroke / 2 * (1 - math.cos(math.radians(deg)))


def nearest_tdc_deg(givens: Givens) -> float:
    apart = [(givens["crank_deg"] - t + 180) % 360 - 180 for t in firing_times(givens).values()]
    return min(map(abs, apart))


def all_drops(givens: Givens) -> list[float]:
    return [
        drop_by_solving(givens["stroke_mm"], givens["rod_mm"], givens["crank_deg"] - time)
        for time in firing_times(givens).values()
    ]


def triangle(degrees: float) -> float:
    """Return how far a piston that moves evenly has gone down, as a share of its stroke."""
    turn = degrees % 360
    return turn / 180 if turn < 180 else 2 - turn / 180


def volumes(**changes: object) -> Wrong:
    return lambda g: ratio_by_volumes(other(g, **changes))


def counted(more: int) -> Wrong:
    return lambda g: error_by_pulling(other(g, pins_counted=g["pins_counted"] + more))


def belt_counted(more: int) -> Wrong:
    return lambda g: error_by_laying_the_belt(other(g, teeth_counted=g["teeth_counted"] + more))


def turned(share: float) -> Wrong:
    return lambda g: mark_by_turning(other(g, crank_turn_deg=share * g["crank_turn_deg"]))


def whole_chain(givens: Givens) -> int:
    return round(2 * givens["centre_distance_mm"] / givens["pitch_mm"]) + givens["teeth"]


def stages(givens: Givens) -> list[float]:
    pairs = zip(givens["driver_teeth"], givens["driven_teeth"], strict=True)
    return [driven / driver for driver, driven in pairs]


WRONG: dict[str, dict[str, Wrong]] = {
    "firing-interval": {
        "cycle-in-one-turn": lambda g: 360 / g["cylinders"],
        "gaps-one-fewer": lambda g: 720 / (g["cylinders"] - 1),
        "gaps-one-more": lambda g: 720 / (g["cylinders"] + 1),
        "fires-every-stroke": lambda _: 180,
        "half-the-cylinders-fire": lambda g: 720 / (g["cylinders"] / 2),
    },
    "cylinder-angle": {
        "only-firing-tdc-counts": lambda g: (g["crank_deg"] - firing_times(g)[g["cylinder"]]) % 720,
        "cylinder-one-for-all": lambda g: math.fmod(g["crank_deg"], 360),
        "order-read-backwards": lambda g: own_angle_by_turning(
            other(g, crank_deg=g["crank_deg"] + 2 * firing_times(g)[g["cylinder"]])
        ),
        "row-for-order": lambda g: own_angle_by_turning(
            other(g, firing_order=tuple(sorted(g["firing_order"])))
        ),
        "cycle-in-one-turn": lambda g: (
            (g["crank_deg"] - 360 * place_in_order(g, g["cylinder"]) / len(g["firing_order"])) % 360
        ),
        "before-for-after": lambda g: 360 - own_angle_by_turning(g),
        "bottom-for-top": lambda g: own_angle_by_turning(other(g, crank_deg=g["crank_deg"] + 180)),
    },
    "companion-cylinder": {
        "next-for-companion": along(1),
        "previous-in-order": along(-1),
        "nearest-in-row": neighbour,
        "skips-one-in-order": along(2),
        "one-piston-at-tdc": lambda _: "none",
    },
    "next-to-fire": {
        "nearest-in-row": neighbour,
        "previous-in-order": along(-1),
        "skips-one-in-order": along(2),
        "fires-every-turn": lambda g: g["cylinder"],
    },
    "piston-drop": {
        "piston-moves-evenly": lambda g: g["stroke_mm"] * triangle(g["crank_deg"]),
        "rod-forgotten": lambda g: rodless(g["stroke_mm"], g["crank_deg"]),
        "rod-lean-reversed": lambda g: 2 * rodless(g["stroke_mm"], g["crank_deg"]) - piston()(g),
        "stroke-for-throw": piston(stroke=2),
        "measured-from-bottom": lambda g: g["stroke_mm"] - piston()(g),
        "cam-degrees-for-piston": piston(deg=0.5),
        "sideways-for-down": lambda g: abs(
            g["stroke_mm"] / 2 * math.cos(math.radians(g["crank_deg"] - 90))
        ),
    },
    "angle-for-drop": {
        "piston-moves-evenly": lambda g: 180 / g["stroke_mm"] * g["drop_mm"],
        "rod-forgotten": lambda g: math.degrees(
            2 * math.asin(math.sqrt(g["drop_mm"] / g["stroke_mm"]))
        ),
    },
    "safe-position": {
        "tdc-taken-as-safe": lambda _: 0,
        "ninety-is-safe": lambda _: 90,
        "one-at-the-bottom": lambda _: 180,
        "full-tdc-spacing": lambda g: 2 * safest_by_trying(g)[0],
        "firing-interval-for-tdc-spacing": lambda g: g["intervals"][0] / 2,
        "quarter-of-spacing": lambda g: safest_by_trying(g)[0] / 2,
    },
    "safe-margin": {
        "only-cylinder-one": piston(),
        "deepest-for-shallowest": lambda g: max(all_drops(g)),
        "mean-of-the-pistons": lambda g: sum(all_drops(g)) / len(all_drops(g)),
        "piston-moves-evenly": lambda g: g["stroke_mm"] * triangle(nearest_tdc_deg(g)),
        "rod-forgotten": lambda g: rodless(g["stroke_mm"], nearest_tdc_deg(g)),
        "stroke-for-throw": lambda g: margin_by_trying(other(g, stroke_mm=2 * g["stroke_mm"])),
        "cam-degrees-for-piston": lambda g: drop_by_solving(
            g["stroke_mm"], g["rod_mm"], nearest_tdc_deg(g) / 2
        ),
    },
    "positive-stop": {
        "difference-not-halved": lambda g: 2 * wheel_error_by_equations(g),
        "halved-twice": lambda g: wheel_error_by_equations(g) / 2,
        "mean-for-error": lambda g: (g["reading_before_deg"] + g["reading_after_deg"]) / 2,
        "wheel-error-reversed": lambda g: (g["reading_after_deg"] - g["reading_before_deg"]) / 2,
        "close-is-good-enough": lambda _: 0,
    },
    "displacement": {
        "one-cylinder-only": lambda g: displacement_by_integration(other(g, cylinders=1)),
        "bore-for-radius": lambda g: displacement_by_integration(
            other(g, bore_mm=2 * g["bore_mm"])
        ),
        "square-for-circle": lambda g: (
            g["bore_mm"] * g["bore_mm"] * g["stroke_mm"] * g["cylinders"] / 1000
        ),
        "throw-for-stroke": lambda g: displacement_by_integration(
            other(g, stroke_mm=g["stroke_mm"] / 2)
        ),
        "half-the-cylinders-fill": lambda g: displacement_by_integration(
            other(g, cylinders=g["cylinders"] // 2)
        ),
        "bore-and-stroke-swapped": lambda g: displacement_by_integration(
            other(g, bore_mm=g["stroke_mm"], stroke_mm=g["bore_mm"])
        ),
    },
    "compression-ratio": {
        "swept-over-clearance": lambda g: ratio_by_volumes(g) - 1,
        "clearance-counted-twice": lambda g: ratio_by_volumes(g) + 1,
        "gasket-forgotten": volumes(gasket_mm=0),
        "chamber-only": volumes(gasket_mm=0, deck_mm=0, dish_cc=0),
        "dish-reversed": lambda g: ratio_by_volumes(other(g, dish_cc=-g["dish_cc"])),
        "deck-forgotten": volumes(deck_mm=0),
        "throw-for-stroke": lambda g: ratio_by_volumes(other(g, stroke_mm=g["stroke_mm"] / 2)),
    },
    "tooth-degrees": {
        "cam-for-crank": lambda g: tooth_by_chain(g) / 2,
        "halved-for-doubled": lambda g: tooth_by_chain(g) / 4,
        "doubled-twice": lambda g: 2 * tooth_by_chain(g),
        "teeth-one-fewer": lambda g: tooth_by_chain(other(g, cam_teeth=g["cam_teeth"] - 1)),
        "teeth-one-more": lambda g: tooth_by_chain(other(g, cam_teeth=g["cam_teeth"] + 1)),
    },
    "pins-apart": {
        "first-pin-counted": counted(1),
        "last-pin-left-out": counted(-1),
        "mixed-counts": counted(2),
        "longer-tight-strand-advances": lambda g: error_by_pulling(other(g, side="slack")),
        "slack-strand-like-tight": lambda g: error_by_pulling(other(g, side="tight")),
        "cam-for-crank": lambda g: error_by_pulling(g) / 2,
        "doubled-twice": lambda g: 2 * error_by_pulling(g),
    },
    "belt-teeth-apart": {
        "belt-first-tooth-counted": belt_counted(1),
        "belt-last-tooth-left-out": belt_counted(-1),
        "belt-tight-strand-advances": lambda g: error_by_laying_the_belt(other(g, side="slack")),
        "belt-slack-strand-like-tight": lambda g: error_by_laying_the_belt(other(g, side="tight")),
        "cam-for-crank": lambda g: error_by_laying_the_belt(g) / 2,
        "doubled-twice": lambda g: 2 * error_by_laying_the_belt(g),
    },
    "pins-between": {
        "first-pin-counted": lambda g: pins_by_walking(g) + 1,
        "last-pin-left-out": lambda g: pins_by_walking(g) - 1,
        "free-strand-only": lambda g: round(g["centre_distance_mm"] / g["pitch_mm"]),
        "one-arc-only": lambda g: pins_by_walking(other(g, to_mark_deg=0)),
        "other-way-round": lambda g: whole_chain(g) - pins_by_walking(g),
        "half-sprockets-always": lambda g: (
            round(g["centre_distance_mm"] / g["pitch_mm"]) + g["teeth"] // 2
        ),
    },
    "mark-angle": {
        "cam-turns-with-crank": turned(2),
        "cam-turns-double": turned(4),
        "mark-turns-back": turned(-1),
        "start-forgotten": lambda g: mark_by_turning(other(g, cam_mark_deg=0)),
        "quarter-turn-for-half": turned(0.5),
    },
    "marks-realign": {
        "marked-links-every-two-turns": lambda _: 2,
        "as-many-turns-as-links": lambda g: g["chain_links"],
        "links-over-teeth": lambda g: round(g["chain_links"] / g["crank_teeth"]),
        "chain-rounds-for-turns": lambda g: (
            realign_by_turning(g) * g["crank_teeth"] / g["chain_links"]
        ),
        "pitches-for-turns": lambda g: realign_by_turning(g) * g["crank_teeth"],
        "cam-turns-for-crank-turns": lambda g: realign_by_turning(g) / 2,
        "halved-for-doubled": lambda g: realign_by_turning(g) * 2,
    },
    "marks-realign-cam": {
        "marked-links-every-two-turns": lambda _: 2,
        "crank-mark-only": realign_by_turning,
        "cam-turns-for-crank-turns": lambda g: realign_with_cam_by_turning(g) / 2,
        "pitches-for-turns": lambda g: realign_with_cam_by_turning(g) * g["crank_teeth"],
    },
    "drive-ratio": {
        "ratio-upside-down": lambda g: 1 / ratio_by_speeds(g),
        "only-the-first-stage": lambda g: stages(g)[0],
        "only-the-last-stage": lambda g: stages(g)[-1],
        "stages-added": lambda g: sum(stages(g)),
        "ends-only": lambda g: g["driven_teeth"][-1] / g["driver_teeth"][0],
        "teeth-summed": lambda g: sum(g["driven_teeth"]) / sum(g["driver_teeth"]),
        "idler-counts": lambda g: g["driven_teeth"][0] / g["idler_teeth"],
        "idler-for-driven": lambda g: g["idler_teeth"] / g["driver_teeth"][0],
        "teeth-difference": lambda g: stages(g)[0] - 1,
    },
}
