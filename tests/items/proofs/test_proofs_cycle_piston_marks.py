"""Keys on cycle, piston and marks against a second way, a thousand seeds on each shipped sheet."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from second_ways import (
    NUMBERS,
    drop_by_solving,
    error_by_pulling,
    firing_times,
    moves_alike,
    next_by_waiting,
    safest_by_trying,
    sequence_by_waiting,
    strokes,
)
from valid_sheets import valid_sheets
from wrong_ways import WRONG

from quizsvc.figures.drive_state import counted_pins
from quizsvc.figures.scene import Circle, Circles, Polyline
from quizsvc.figures.sprocket_pair import counted_pins as pins_of_pair
from quizsvc.items.family import NotForThisSheet, draw_item, find_family, suits_drives
from quizsvc.items.model import Item, Kind
from quizsvc.items.options import rounded
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.sheets.schema import EngineSheet

SEEDS = 1000
SHEETS = tuple(shipped_sheets().values())
THOUSANDS = [pytest.param(sheet, id=sheet.id) for sheet in SHEETS]
WORDS = (
    "stroke-at-angle",
    "companion-cylinder",
    "next-to-fire",
    "cylinders-on-stroke",
    "stroke-match",
    "firing-sequence",
)


def sheets_for(family_id: str) -> list[EngineSheet]:
    return [sheet for sheet in SHEETS if suits_drives(find_family(family_id), sheet)]


SUITED = [
    pytest.param(family_id, sheet, id=f"{family_id}-{sheet.id}")
    for family_id in (*NUMBERS, *WORDS)
    for sheet in sheets_for(family_id)
]
OTHERS = ("pin-for-mark", "bench-safe-position", "bench-valve-event", "bench-refit-chain")


def givens_of(item: Item) -> dict[str, object]:
    return {name: given.value for name, given in item.givens.items()}


def right_values(item: Item) -> list[object]:
    return [option.value for option in item.options if option.correct]


def same_number(item: Item, value: object, expected: float) -> bool:
    """Say whether a shown value is the expected one, rounded as the item shows it."""
    last_place = 10.0**-item.asked.decimals
    return abs(float(value) - expected) <= last_place / 2 + 1e-6


def check_number(item: Item) -> None:
    expected = NUMBERS[item.family](givens_of(item))
    assert same_number(item, item.key.value, expected), (item.prompt, expected)


def check_words(item: Item) -> None:
    givens = givens_of(item)
    match item.family:
        case "stroke-at-angle":
            assert right_values(item) == [strokes(givens)[givens["cylinder"]]], item.prompt
        case "companion-cylinder":
            assert moves_alike(givens, givens["cylinder"]) == right_values(item), item.prompt
        case "next-to-fire":
            assert right_values(item) == [next_by_waiting(givens)], item.prompt
        case "cylinders-on-stroke":
            on = {c for c, stroke in strokes(givens).items() if stroke == givens["stroke"]}
            assert set(right_values(item)) == on, item.prompt
        case "stroke-match":
            found = {f"cylinder {c}": stroke for c, stroke in strokes(givens).items()}
            assert dict(item.key.pairs) == found, item.prompt
        case "firing-sequence":
            expected = [f"cylinder {c}" for c in sequence_by_waiting(givens)]
            assert list(item.key.sequence) == expected, item.prompt


def check(item: Item) -> None:
    if item.family in NUMBERS:
        check_number(item)
    elif item.family in WORDS:
        check_words(item)


@pytest.mark.parametrize(("family_id", "sheet"), SUITED)
def test_a_second_way_comes_to_the_same_key(family_id, sheet):
    family = find_family(family_id)

    for seed in range(SEEDS):
        check(draw_item(family, sheet, f"proof {seed}"))


@pytest.mark.parametrize("family_id", list(WRONG))
def test_each_wrong_option_is_what_its_idea_computes(family_id):
    family = find_family(family_id)
    met = set()

    for sheet in sheets_for(family_id):
        for seed in range(200):
            item = draw_item(family, sheet, f"wrong {seed}")
            givens = givens_of(item)
            for option in item.options:
                if option.misconception not in WRONG[family_id]:
                    continue
                met.add(option.misconception)
                idea = WRONG[family_id][option.misconception]
                expected = idea(givens)
                if isinstance(expected, str) or isinstance(option.value, int):
                    assert option.value == expected, (item.prompt, option)
                else:
                    assert same_number(item, option.value, expected), (
                        item.prompt,
                        option,
                        expected,
                    )

    assert met == set(WRONG[family_id])


@settings(max_examples=20, suppress_health_check=list(HealthCheck))
@given(sheet=valid_sheets())
def test_keys_hold_on_random_valid_sheets(sheet):
    for family_id in [*NUMBERS, *WORDS, *OTHERS]:
        family = find_family(family_id)
        for seed in range(3):
            try:
                item = draw_item(family, sheet, seed)
            except NotForThisSheet:
                continue
            check(item)
            assert item.figure().alt == item.figure_alt


@pytest.mark.parametrize("sheet", THOUSANDS)
def test_the_bench_is_safe_where_trying_every_half_degree_says_so(sheet):
    family = find_family("bench-safe-position")

    for seed in range(50):
        item = draw_item(family, sheet, seed)
        tried = safest_by_trying(givens_of(item))
        assert list(item.key.value) == tried + [deg + 360 for deg in tried]


@pytest.mark.parametrize("sheet", THOUSANDS)
def test_the_bench_valve_changes_state_at_the_key(sheet):
    family = find_family("bench-valve-event")
    events = sheet.valves.events

    for seed in range(SEEDS):
        item = draw_item(family, sheet, seed)
        givens = givens_of(item)
        firing = firing_times(givens)[givens["cylinder"]]
        valve = "intake" if "intake valve of" in item.prompt else "exhaust"
        just_before, just_after = (
            _open(events, valve, item.key.value + step - firing) for step in (-0.6, 0.6)
        )
        assert just_before != just_after, item.prompt
        assert just_after == ("opens" in item.prompt), item.prompt


def _open(events: object, valve: str, own_deg: float) -> bool:
    """Say whether a valve is open, by signed degrees from exhaust TDC."""
    from_tdc = (own_deg - 360 + 360) % 720 - 360
    if valve == "intake":
        return -events.ivo_btdc < from_tdc < 180 + events.ivc_abdc
    return -180 - events.evo_bbdc < from_tdc < events.evc_atdc


@pytest.mark.parametrize("sheet", THOUSANDS)
def test_the_chain_to_refit_is_off_by_what_the_counts_say(sheet):
    family = find_family("bench-refit-chain")
    shown = 0

    for seed in range(120):
        item = draw_item(family, sheet, seed)
        givens = givens_of(item)
        late = error_by_pulling(givens) * givens["cam_teeth"] / 720

        assert item.bench.teeth_off == round(late)
        assert item.key.value == 0
        # The picture shows the chain as it sits, pin by pin.
        view = item.figure.args[0]
        if view.counted:
            shown += 1
            assert counted_pins(view) == givens["pins_counted"], item.prompt

    assert shown > 20


@pytest.mark.parametrize("family_id", ["pins-apart", "pins-between"])
def test_the_pins_can_be_counted_in_the_picture(family_id):
    family = find_family(family_id)

    for sheet in sheets_for(family_id):
        for seed in range(40):
            item = draw_item(family, sheet, seed)
            pair = item.figure.args[0]
            wanted = item.givens.get("pins_counted")
            stated = wanted.value if wanted else item.key.value
            drawn = next(
                shape
                for shape in item.figure().shapes
                if isinstance(shape, Circles) and shape.name == "counted pins"
            )
            assert len(pins_of_pair(pair)) - 1 == stated
            assert len(drawn.centres) - 1 == stated


def test_the_pin_pointed_at_is_counted_off_in_the_picture():
    """Count from the crank mark along the chain drawn, on the side the strand must lie on."""
    family = find_family("pin-for-mark")

    for sheet in sheets_for("pin-for-mark"):
        for seed in range(60):
            item = draw_item(family, sheet, seed)
            scene = item.figure()
            (chain,) = (s for s in scene.shapes if isinstance(s, Polyline) and s.name == "chain")
            crank = next(p for p in chain.points if p[1] == max(q[1] for q in chain.points))
            start = chain.points.index(crank)
            clockwise = "turns clockwise" in item.prompt
            # A clockwise crank below draws in the strand on its right (x to the right).
            to_the_right = clockwise == (item.givens["side"].value == "tight")
            step = next(s for s in (1, -1) if (_beside(chain.points, start, s) > 0) == to_the_right)
            pin = chain.points[(start + step * item.givens["pins"].value) % len(chain.points)]
            rings = {
                shape.name.removeprefix("place "): shape.centre
                for shape in scene.shapes
                if isinstance(shape, Circle) and shape.name.startswith("place ")
            }
            (right,) = item.key.areas
            assert math.dist(rings[right.name], pin) < 1e-6, item.prompt
            assert math.dist(right.centre, pin) < 1e-6


def _beside(points, start: int, step: int) -> float:
    return points[(start + step * 4) % len(points)][0] - points[start][0]


def test_the_teeth_of_a_belt_can_be_counted_in_the_picture():
    """Count the solid teeth as they stand on the drawn belt, from one mark's to the other's."""
    family = find_family("belt-teeth-apart")

    for sheet in sheets_for(family.id):
        for seed in range(60):
            item = draw_item(family, sheet, seed)
            scene, givens = item.figure(), givens_of(item)
            solid = [s for s in scene.shapes if getattr(s, "name", "") == "counted tooth"]
            belt = next(s for s in scene.shapes if getattr(s, "name", "") == "belt teeth")

            assert len(solid) - 1 == givens["teeth_counted"], item.prompt
            corners = [belt.points[n : n + 4] for n in range(0, len(belt.points), 4)]
            places = [corners.index(tooth.points) for tooth in solid]
            steps = {(after - before) % len(corners) for before, after in pairwise(places)}
            assert steps == {1}, "one after the other along the belt"
            assert on_the_left(solid, scene) == (
                ("turns clockwise" in item.prompt) == (givens["side"] == "slack")
            )


def on_the_left(solid, scene) -> bool:
    middle = solid[len(solid) // 2].points[0][0]
    wheel = next(s for s in scene.shapes if getattr(s, "name", "") == "wheel crankshaft")
    return middle < sum(x for x, _ in wheel.points) / len(wheel.points)


def test_a_drop_by_solving_agrees_with_published_values():
    # Throw 43, rod 143 mm: 30° 7.386, 60° 26.434, 90° 49.618 mm; the second way checked itself.
    found = [round(drop_by_solving(86, 143, deg), 3) for deg in (30, 60, 90)]

    assert found == [7.386, 26.434, 49.618]


def test_every_kind_of_these_families_was_proved():
    proved = {*NUMBERS, *WORDS, *OTHERS}

    kinds = {kind for family_id in proved for kind in find_family(family_id).kinds}

    assert kinds == set(Kind)
    assert rounded(12.26, 1) == 12.3
