"""Keys on valves, chain, wear, signals, fasteners and accessories against a second way.

A thousand seeds on each shipped sheet, and a few on random valid sheets.
"""

from __future__ import annotations

import pytest
import valve_ways
import valve_wrongs
import workshop_ways
import workshop_wrongs
from hypothesis import HealthCheck, given, settings
from shapely import contains_xy
from shapely.geometry import Polygon
from valid_sheets import valid_sheets

from quizsvc.figures import tone_wheel
from quizsvc.figures.drive_state import path_of
from quizsvc.figures.scene import Polyline, Scene, at_clock
from quizsvc.items.families.slip_tolerance import contact_deg
from quizsvc.items.family import (
    NotForThisSheet,
    all_families,
    draw_item,
    find_family,
    suits_drives,
)
from quizsvc.items.model import Item, Kind
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import slider_of
from quizsvc.sheets.valve_state import valve_room_of

SEEDS = 1000
SHEETS = tuple(shipped_sheets().values())
THOUSANDS = [pytest.param(sheet, id=sheet.id) for sheet in SHEETS]
TOPICS = {"valves", "chain", "wear", "signals", "fasteners", "accessory"}
PROVED_WITH_THE_BENCH = "bench-valve-event"
FAMILY_IDS = tuple(
    f.id for f in all_families().values() if f.topic in TOPICS and f.id != PROVED_WITH_THE_BENCH
)


def sheets_for(family_id: str) -> list[EngineSheet]:
    return [sheet for sheet in SHEETS if suits_drives(find_family(family_id), sheet)]


SUITED = [
    pytest.param(family_id, sheet, id=f"{family_id}-{sheet.id}")
    for family_id in FAMILY_IDS
    for sheet in sheets_for(family_id)
]
NUMBERS = {**valve_ways.NUMBERS, **workshop_ways.NUMBERS}
WRONG = {**valve_wrongs.WRONG, **workshop_wrongs.WRONG}


def givens_of(item: Item) -> dict[str, object]:
    return {name: given.value for name, given in item.givens.items()}


def right_values(item: Item) -> list[object]:
    return [option.value for option in item.options if option.correct]


def second_way(item: Item):
    return NUMBERS.get(item.family) or NUMBERS.get(f"{item.family} {item.asked.quantity}")


def check_number(item: Item) -> None:
    expected = second_way(item)(givens_of(item))
    last_place = 10.0**-item.asked.decimals
    exact = isinstance(item.key.value, int)
    off = abs(item.key.value - expected)
    assert off <= (1e-9 if exact else last_place / 2 + 1e-6), (item.prompt, expected)


def check_open_valves(item: Item) -> None:
    opened = valve_ways.open_valves(givens_of(item))
    if item.kind is Kind.ONE_CHOICE:
        (right,) = right_values(item)
        assert set(right) == opened, item.prompt
        return
    assert set(right_values(item)) <= opened, item.prompt
    assert not {o.value for o in item.options if not o.correct} & opened, item.prompt


def check_match(item: Item) -> None:
    assert dict(item.key.pairs) == valve_ways.match(givens_of(item)), item.prompt


def check_order(item: Item) -> None:
    found = item.key.sequence or right_values(item)[0]
    assert list(found) == valve_ways.events_in_order(givens_of(item)), item.prompt


def check_strand(item: Item) -> None:
    expected = workshop_ways.strand_by_velocity(givens_of(item))
    assert str(right_values(item)[0]).startswith(expected), item.prompt


def check_strands(item: Item) -> None:
    givens = givens_of(item)
    loads = [3.0 + len(name) for name in givens["shafts"]]
    found = item.key.sequence or right_values(item)[0]
    assert list(found) == workshop_ways.strands_by_balance(givens, loads), item.prompt


def check_groove(item: Item) -> None:
    left = workshop_ways.to_groove(givens_of(item))
    said = str(right_values(item)[0])
    assert said.startswith("not yet" if left > 0 else "yes"), item.prompt
    assert f"{abs(left):.1f} mm" in said, item.prompt


def check_cause(item: Item) -> None:
    assert right_values(item) == [workshop_ways.cause(givens_of(item))], item.prompt


def check_pulleys(item: Item) -> None:
    assert right_values(item) == [turning_against(item)], item.prompt


def turning_against(item: Item) -> tuple[str, ...]:
    """Look at the drawn belt: it runs round a wheel on its back the other way."""
    view = item.figure.args[0]
    crank, *driven = path_of(view).arcs
    return tuple(view.wheels[arc.wheel].name for arc in driven if arc.wrap_deg * crank.wrap_deg < 0)


def check_first_tooth(item: Item) -> None:
    """Look at the drawn wheel: where no tooth stands, and what passes the sensor after that."""
    state, scene = item.figure.args[0], item.figure()
    seen = teeth_seen(scene)
    spaces = [deg for deg in range(360) if not any(seen[(deg + off) % 360] for off in range(-5, 6))]
    letter = right_values(item)[0]
    (what,) = (what for what, one in state.letters if one == letter)
    here = round(state.clock_deg(what)) % 360
    if "Where is the gap" in item.prompt:
        assert here in spaces, item.prompt
        return
    assert seen[here], item.prompt
    # Turning clockwise, the wheel brings to the sensor what stands anticlockwise of the gap.
    gap = next(off for off in range(1, 360) if (here + off) % 360 in spaces)
    others = [o for o in range(1, gap) if seen[(here + o) % 360] and not seen[(here + o - 1) % 360]]
    assert not others, item.prompt


def teeth_seen(scene: Scene) -> list[bool]:
    """Say for each degree, clockwise from the top, whether a tooth stands there."""
    outline = next(s for s in scene.shapes if isinstance(s, Polyline) and s.name == "wheel")
    middle = (tone_wheel.TIP + tone_wheel.ROOT) / 2
    places = [at_clock(tone_wheel.CENTRE, middle, deg) for deg in range(360)]
    return list(contains_xy(Polygon(outline.points), *zip(*places, strict=True)))


WORDS = {
    "valves-open": check_open_valves,
    "event-angle": check_match,
    "valve-order": check_order,
    "tight-strand": check_strand,
    "strand-order": check_strands,
    "plunger-travel": check_groove,
    "slip-or-stretch": check_cause,
    "pulley-turn": check_pulleys,
    "first-tooth": check_first_tooth,
}


def check(item: Item) -> None:
    if item.key.value is not None:
        check_number(item)
    else:
        WORDS[item.family](item)
    if item.family == "belt-renewal" and item.kind is Kind.ONE_CHOICE:
        left = workshop_ways.months_left(givens_of(item))
        (right,) = (option.text for option in item.options if option.correct)
        assert right.endswith(min(left, key=left.__getitem__)), item.prompt
    if item.family == "roller-speed":
        crank, roller, _ = path_of(item.figure.args[0]).arcs
        assert crank.wrap_deg > 0 > roller.wrap_deg, "the roller drawn stands on the back"
    if item.family == "slip-tolerance" and item.options[0].text.find("contact") >= 0:
        said = str(right_values(item)[0])
        left = valve_ways.room_left(givens_of(item))
        assert said.startswith("no contact" if left > 0 else "contact"), item.prompt
        assert ("intake" in said) == (item.givens["direction"].value == "advanced"), item.prompt


@pytest.mark.parametrize(("family_id", "sheet"), SUITED)
def test_a_second_way_comes_to_the_same_key(family_id, sheet):
    family = find_family(family_id)

    for seed in range(SEEDS):
        check(draw_item(family, sheet, f"proof {seed}"))


def wrong_ways(item: Item):
    return WRONG.get(item.family) or WRONG.get(f"{item.family} {item.asked.quantity}")


def same(item: Item, value: object, expected: object) -> bool:
    if isinstance(expected, set):
        return value in expected if isinstance(value, str) else set(value) == expected
    if isinstance(expected, list):
        return list(value) == expected
    if isinstance(value, str) and isinstance(expected, int | float):  # a verdict on what is left
        return value.startswith("no contact" if expected > 0.05 else "contact") and (
            f"{abs(round(expected, 1)):g}°" in value
        )
    if isinstance(value, str):
        return value == expected
    return abs(value - expected) <= 0.5 * 10.0**-item.asked.decimals + 1e-6


@pytest.mark.parametrize("family_id", sorted({key.split()[0] for key in WRONG}))
def test_each_wrong_option_is_what_its_idea_computes(family_id):
    family = find_family(family_id)
    met = {}

    for sheet in sheets_for(family_id):
        for seed in range(300):
            item = draw_item(family, sheet, f"wrong {seed}")
            if item.kind is Kind.MATCH:
                continue  # whole matches: see test_families_valves
            ideas = wrong_ways(item)
            for option in item.options:
                if option.correct:
                    continue
                met.setdefault(str(sorted(ideas)), set()).add(option.misconception)
                expected = ideas[option.misconception](givens_of(item))
                assert same(item, option.value, expected), (item.prompt, option, expected)

    for ideas, seen in met.items():
        assert str(sorted(seen)) == ideas


@settings(max_examples=20, suppress_health_check=list(HealthCheck))
@given(sheet=valid_sheets())
def test_keys_hold_on_random_valid_sheets(sheet):
    for family_id in FAMILY_IDS:
        family = find_family(family_id)
        for seed in range(2):
            try:
                item = draw_item(family, sheet, seed)
            except NotForThisSheet:
                continue
            check(item)
            assert item.figure().alt == item.figure_alt


@pytest.mark.parametrize("sheet", THOUSANDS)
@pytest.mark.parametrize("valve", ["intake", "exhaust"])
def test_the_room_to_first_contact_is_where_trying_every_degree_finds_it(sheet, valve):
    room, slider = valve_room_of(sheet, valve), slider_of(sheet)
    way = -1 if valve == "intake" else 1

    def meets(shift: int) -> bool:
        slipped = room.retarded(way * shift)
        return any(slipped.gap_mm(slider, 260 + deg / 2) <= 0 for deg in range(400))

    first = next(shift for shift in range(121) if meets(shift))

    assert first - 1 <= contact_deg(sheet, valve, 0.0) <= first


def test_every_family_of_these_topics_is_proved():
    numbers = {key.split()[0] for key in NUMBERS}

    assert numbers | set(WORDS) == set(FAMILY_IDS)
