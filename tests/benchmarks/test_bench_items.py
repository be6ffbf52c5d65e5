"""Items drawn per second, with and without figures, against plain Python of the same formulas.

Run by name: ``pytest tests/benchmarks/test_bench_items.py -s``. The plain functions below say
what an item says (prompt, givens, options with their ideas, worked steps, alternative text) from
the same formulas, as bare dictionaries and without any of the guarantees: no stream that is the
same for ever, no check of the values, no figure. Only ratios of one interleaved run count.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable

import pytest

from quizsvc.figures.raster import render_png
from quizsvc.figures.svg import render_svg
from quizsvc.items.family import NotForThisSheet, all_families, draw_item
from quizsvc.sheets.loading import shipped_sheets

pytestmark = pytest.mark.benchmark
ROUNDS = 5
SEEDS = 400


def told(
    rng: random.Random,
    *,
    prompt: str,
    givens: dict[str, tuple[float, str]],
    asked: tuple[str, str, int],
    key: float,
    wrong: list[tuple[str, float, str]],
    steps: list[tuple[str, float, str]],
    alt: str,
    caution: str = "",
) -> dict[str, object]:
    """Say everything an item says: three wrong options to choose from, all to be typed."""
    _, unit, decimals = asked
    shown_key = round(key, decimals)
    kept: dict[float, tuple[str, str]] = {}
    for idea, value, because in rng.sample(wrong, len(wrong)):
        shown = round(value, decimals)
        if shown != shown_key and shown not in kept:
            kept[shown] = (idea, because)
    one_choice = rng.random() < 0.5
    options = [
        {
            "text": f"{shown_key:.{decimals}f}{unit}",
            "value": shown_key,
            "correct": True,
            "misconception": "",
            "rationale": "So it is.",
        }
    ]
    for shown, (idea, because) in list(kept.items())[: 3 if one_choice else None]:
        options.append(
            {
                "text": f"{shown:.{decimals}f}{unit}",
                "value": shown,
                "correct": False,
                "misconception": idea,
                "rationale": because,
            }
        )
    rng.shuffle(options)
    return {
        "kind": "one choice" if one_choice else "number",
        "level": rng.choice(("recall", "apply", "diagnose")),
        "prompt": prompt,
        "givens": {name: {"value": value, "unit": u} for name, (value, u) in givens.items()},
        "asked": {"quantity": asked[0], "unit": unit, "decimals": decimals},
        "key": {"value": shown_key, "tolerance": 0.1},
        "options": options,
        "steps": [{"text": t, "value": round(v, 3), "unit": u} for t, v, u in steps],
        "figure_alt": alt,
        "caution": caution,
    }


def plain_piston_drop(rng: random.Random) -> dict[str, object]:
    stroke, rod = 86.0, 143.0
    deg = 5.0 * rng.randint(3, 34)
    throw, angle = stroke / 2, math.radians(deg)

    def drop(at: float, r: float) -> float:
        return r + rod - (r * math.cos(at) + math.sqrt(rod**2 - (r * math.sin(at)) ** 2))

    across, pin = throw * math.sin(angle), throw * math.cos(angle)
    upright = math.sqrt(rod**2 - across**2)
    key = drop(angle, throw)
    rodless = throw * (1 - math.cos(angle))
    return told(
        rng,
        prompt=f"Stroke {stroke:g} mm, rod {rod:g} mm. The crankshaft stands {deg:g}° after TDC "
        "of a cylinder. How far is its piston below TDC? Answer in mm, to one decimal place.",
        givens={"stroke_mm": (stroke, "mm"), "rod_mm": (rod, "mm"), "crank_deg": (deg, "°")},
        asked=("drop_mm", " mm", 1),
        key=key,
        wrong=[
            ("piston-moves-evenly", stroke * deg / 180, "As if it moved evenly."),
            ("rod-forgotten", rodless, "Without the lean of the rod."),
            ("rod-lean-reversed", 2 * rodless - key, "With the lean taken off."),
            ("stroke-for-throw", drop(angle, stroke), "With the stroke as throw."),
            ("measured-from-bottom", stroke - key, "From BDC."),
            ("cam-degrees-for-piston", drop(angle / 2, throw), "With half the angle."),
            ("sideways-for-down", throw * math.sin(angle), "Sideways."),
        ],
        steps=[
            (f"Throw r = {stroke:g} ÷ 2 = {throw:g} mm.", throw, "mm"),
            (f"At TDC the piston pin is {throw + rod:g} mm high.", throw + rod, "mm"),
            (f"At {deg:g}° it is {across:.1f} mm to the side, {pin:.1f} mm up.", across, "mm"),
            (f"The rod reaches {upright:.1f} mm up.", upright, "mm"),
            (f"Drop: {throw + rod:g} − ({pin:.1f} + {upright:.1f}) = {key:.1f} mm.", key, "mm"),
        ],
        alt=f"A cylinder cut open, piston about {round(10 * key / stroke)} tenths of its stroke "
        f"below TDC, its drop is asked. Crankshaft {deg:g}° after TDC of this cylinder.",
    )


def plain_mark_angle(rng: random.Random) -> dict[str, object]:
    mark, turn = 5.0 * rng.randint(0, 71), 10.0 * rng.randint(3, 71)
    key = (mark + turn / 2) % 360
    return told(
        rng,
        prompt=f"The mark stands at {mark:g}°. The crankshaft is turned on by {turn:g}°. Where "
        "does the mark stand now (0 to 360)? Answer in degrees, to the nearest whole number.",
        givens={"cam_mark_deg": (mark, "°"), "crank_turn_deg": (turn, "°")},
        asked=("cam_mark_deg", "°", 0),
        key=key,
        wrong=[
            ("cam-turns-with-crank", (mark + turn) % 360, "As far as the crank."),
            ("cam-turns-double", (mark + 2 * turn) % 360, "Twice as far."),
            ("mark-turns-back", (mark - turn / 2) % 360, "Backwards."),
            ("start-forgotten", turn / 2 % 360, "From nought."),
            ("quarter-turn-for-half", (mark + turn / 4) % 360, "Halved twice."),
        ],
        steps=[
            (f"The cam turns half as far: {turn:g}° ÷ 2 = {turn / 2:g}°.", turn / 2, "°"),
            (f"Added: {mark:g}° + {turn / 2:g}° = {mark + turn / 2:g}°.", mark + turn / 2, "°"),
        ],
        alt=f"The camshaft sprocket from the front, 36 teeth. Its mark stands at {mark:g}° "
        "clockwise from straight up. Asked: where the mark stands after turning.",
        caution="Turn an engine by hand only.",
    )


def plain_tooth_degrees(rng: random.Random) -> dict[str, object]:
    teeth = 2 * rng.randint(13, 28)
    key = 720 / teeth
    return told(
        rng,
        prompt=f"A chain was fitted one tooth out on a cam sprocket of {teeth} teeth. By how "
        "many crank degrees are the valves out of time? Answer in crank degrees, to one decimal "
        "place.",
        givens={"cam_teeth": (teeth, "")},
        asked=("crank_deg", "°", 1),
        key=key,
        wrong=[
            ("cam-for-crank", 360 / teeth, "Those are cam degrees."),
            ("halved-for-doubled", 180 / teeth, "Halved."),
            ("doubled-twice", 1440 / teeth, "Doubled once too often."),
            ("teeth-one-fewer", 720 / (teeth - 1), "One tooth too few."),
            ("teeth-one-more", 720 / (teeth + 1), "One tooth too many."),
        ],
        steps=[
            (f"One tooth of {teeth} is 360° ÷ {teeth} of the camshaft.", 360 / teeth, "°"),
            ("The crankshaft turns twice while the camshaft turns once.", 2.0, ""),
            (f"So 720° ÷ {teeth} = {key:.1f}° of the crankshaft.", key, "°"),
        ],
        alt=f"The camshaft sprocket from the front, {teeth} teeth. The angle is asked for.",
    )


def plain_cylinder_angle(rng: random.Random) -> dict[str, object]:
    order, interval = (1, 3, 4, 2), 180.0
    cylinder, crank = rng.choice((2, 3, 4)), 5.0 * rng.randint(1, 143)
    firing = order.index(cylinder) * interval
    key = (crank - firing) % 360
    return told(
        rng,
        prompt=f"An inline four fires in the order 1-3-4-2, every {interval:g}°. The crankshaft "
        f"stands {crank:g}° after firing TDC of cylinder 1. How far is cylinder {cylinder} past "
        "its own last TDC? Answer in crank degrees, to the nearest whole number.",
        givens={"cylinder": (cylinder, ""), "crank_deg": (crank, "°")},
        asked=("atdc_deg", "°", 0),
        key=key,
        wrong=[
            ("only-firing-tdc-counts", (crank - firing) % 720, "From its firing TDC."),
            ("cylinder-one-for-all", crank % 360, "Cylinder 1."),
            ("order-read-backwards", (crank + firing) % 360, "Added."),
            ("row-for-order", (crank - (cylinder - 1) * interval) % 360, "By number."),
            ("cycle-in-one-turn", (crank - order.index(cylinder) * 90) % 360, "One turn."),
            ("before-for-after", 360 - key, "Before the next."),
            ("bottom-for-top", (crank - firing - 180) % 360, "From the bottom."),
        ],
        steps=[
            (f"Cylinder {cylinder} fires {firing:g}° after cylinder 1.", firing, "°"),
            (f"{crank:g}° − {firing:g}° = {crank - firing:g}°.", crank - firing, "°"),
            (f"Less whole turns: {key:g}°.", key, "°"),
        ],
        alt="4 cylinders cut open, pistons at true height. "
        + " ".join(
            f"Cylinder {c}: piston {(crank - i * 180) % 360:g}° past TDC."
            for i, c in enumerate(order)
        ),
    )


PLAIN: dict[str, Callable[[random.Random], dict[str, object]]] = {
    "piston-drop": plain_piston_drop,
    "mark-angle": plain_mark_angle,
    "tooth-degrees": plain_tooth_degrees,
    "cylinder-angle": plain_cylinder_angle,
}


def report(*lines: str) -> None:
    print("", *lines, sep="\n")  # noqa: T201 - a benchmark is run to be read


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def test_items_per_second_with_and_without_figures():
    sheets = list(shipped_sheets().values())
    recipes = []
    for family in all_families().values():
        for sheet in sheets:
            try:
                draw_item(family, sheet, 0)  # also fills what is kept per sheet
            except NotForThisSheet:
                continue
            recipes += [(family, sheet, seed) for seed in range(20)]

    bare = seconds(lambda: [draw_item(*recipe) for recipe in recipes])
    items = [draw_item(*recipe) for recipe in recipes[::20]]
    drawn = [item for item in items if item.figure]
    svg = seconds(lambda: [render_svg(item.figure()) for item in drawn]) / len(drawn)
    png = seconds(lambda: [render_png(item.figure()) for item in drawn]) / len(drawn)
    each = bare / len(recipes)

    report(
        f"{len(all_families())} families on {len(sheets)} sheets, {len(recipes)} items",
        f"items without figures: {1 / each:8.0f}/s",
        f"items with SVG:        {1 / (each + svg):8.0f}/s   (SVG alone {1 / svg:.0f}/s)",
        f"items with PNG:        {1 / (each + png):8.0f}/s   (PNG alone {1 / png:.0f}/s)",
    )
    assert len(items) == len(recipes) // 20


@pytest.mark.parametrize("family_id", list(PLAIN))
def test_ratio_to_plain_python_of_the_same_formulas(family_id):
    family, sheet = all_families()[family_id], shipped_sheets()["demo-inline-four"]
    rng = random.Random(1)
    plain_times, item_times = [], []

    for _ in range(ROUNDS):
        plain_times.append(seconds(lambda: [PLAIN[family_id](rng) for _ in range(SEEDS)]))
        item_times.append(seconds(lambda: [draw_item(family, sheet, s) for s in range(SEEDS)]))

    plain, item = min(plain_times) / SEEDS, min(item_times) / SEEDS
    report(
        f"{family_id}: plain {1e6 * plain:.0f} µs, item {1e6 * item:.0f} µs, "
        f"ratio {plain / item:.2f} (aim 0.25)"
    )
    assert plain_times
    assert item_times
