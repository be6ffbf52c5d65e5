"""Valve families against published and customary values, and what they say of an answer."""

from __future__ import annotations

import pytest
from drawn_items import items_of

from quizsvc.items.cam_card import ValveOnCard, degree_sum, event_words
from quizsvc.items.families.events_after_slip import Slipped
from quizsvc.items.families.lobe_separation import Lobes
from quizsvc.items.families.phaser_overlap import Phased
from quizsvc.items.families.piston_valve_gap import Gap
from quizsvc.items.families.valve_order import in_order
from quizsvc.items.family import draw_item, find_family
from quizsvc.items.model import Kind, Level
from quizsvc.scoring.marking import Answer, mark
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.timing.valves import ValveEvents

SHEETS = tuple(shipped_sheets().values())
# Published, tuning texts: 20-60 / 60-20.
TUNING = ValveEvents(20, 60, 60, 20)


def test_a_20_60_cam_lasts_260_degrees_with_its_lobes_110_apart():
    # Published, tuning texts: duration 260°, separation 110 cam°.
    assert ValveOnCard(TUNING, "intake").duration_deg == 260
    assert ValveOnCard(TUNING, "exhaust").duration_deg == 260
    assert Lobes(TUNING).separation == 110


def test_a_card_of_6_42_lasts_228_degrees_centred_at_108():
    # Published, cam cards: 6/42, EVC 12: duration 228°, lobe centre 108°, overlap 18°.
    card = ValveEvents(6, 42, 50, 12)

    intake = ValveOnCard(card, "intake")

    assert (intake.duration_deg, intake.lobe_centre_deg, card.overlap_deg) == (228, 108, 18)


def test_an_intake_that_opens_after_tdc_counts_negative():
    # Published, cam cards: IVO 10° after TDC, IVC 39: duration 209°, centreline 114.5°.
    intake = ValveOnCard(ValveEvents(-10, 39, 50, 10), "intake")

    assert (intake.duration_deg, intake.lobe_centre_deg) == (209, 114.5)


@pytest.mark.parametrize(
    ("direction", "expected"),
    [
        # Published, tuning texts: 5° of crankshaft advanced 25-55 / 65-15, retarded 15-65 / 55-25.
        ("advanced", {"ivo_btdc": 25, "ivc_abdc": 55, "evo_bbdc": 65, "evc_atdc": 15}),
        ("retarded", {"ivo_btdc": 15, "ivc_abdc": 65, "evo_bbdc": 55, "evc_atdc": 25}),
    ],
)
def test_five_degrees_move_the_events_as_tuning_texts_say(direction, expected):
    # 144 teeth make a tooth of 5 crank degrees.
    found = {event: Slipped(TUNING, event, 1, direction, 144).new_event for event in expected}

    assert found == expected


def test_turning_one_shaft_leaves_its_lobe_separation():
    # Published, tuning texts: both lobes move alike.
    assert Lobes(TUNING, advanced_deg=8).separation == 110


def test_a_tooth_of_36_is_20_crank_degrees_of_event():
    slipped = Slipped(TUNING, "ivc_abdc", 1, "retarded", 36)

    assert slipped.new_event == 80
    assert slipped.shifted(0.5) == 70  # with cam degrees for crank degrees


def test_both_phasers_lengthen_the_overlap():
    assert Phased(TUNING, 30, 10).moved.overlap_deg == 80


def test_the_gap_takes_what_the_leaning_valve_covers_along_the_bore():
    # By hand: 2 + 4 − 6 × cos 60° = 3 mm.
    assert Gap("intake", 10, 2, 6, 4, 60, 2.03).gap_mm == pytest.approx(3)


def test_customary_least_gaps_are_asked_for():
    # Common practice, no source: intake 2.03 mm (0.080 in), exhaust 2.54 mm (0.100 in).
    least = {
        item.givens["least_mm"].value
        for item in items_of("piston-valve-gap")
        if "least_mm" in item.givens
    }

    assert least == {2.03, 2.54}


def test_events_stand_in_the_order_engine_texts_give():
    # Published, engine texts: exhaust opens before BDC, both open about TDC, intake shuts late.
    assert in_order(TUNING) == (
        "exhaust opens",
        "BDC after power",
        "intake opens",
        "exhaust TDC",
        "exhaust closes",
        "BDC after intake",
        "intake closes",
    )


def test_words_name_the_side_of_the_dead_centre():
    assert event_words("ivo_btdc", 12) == "12° before TDC"
    assert event_words("ivo_btdc", -4) == "4° after TDC"
    assert event_words("evc_atdc", 0) == "at TDC"
    assert degree_sum(180, -13, 62) == "180° − 13° + 62° = 229°"


def test_a_wrong_match_is_known_by_its_idea():
    family = find_family("event-angle")
    item = draw_item(family, SHEETS[0], 3, kind=Kind.MATCH)
    idea = next(o for o in item.options if o.misconception == "event-at-wrong-dead-centre")

    marked = mark(item, Answer(pairs=tuple(zip(item.left, idea.value, strict=True))))

    assert (marked.correct, marked.misconception) == (False, "event-at-wrong-dead-centre")


def test_whoever_takes_cam_degrees_for_crank_degrees_is_told_so():
    family = find_family("events-after-slip")
    for seed in range(20):
        item = draw_item(family, SHEETS[1], seed, kind=Kind.NUMBER)
        half = next(o for o in item.options if o.misconception == "slip-in-cam-degrees")

        marked = mark(item, Answer(number=half.value))

        assert marked.misconception == "slip-in-cam-degrees"


def test_retarding_and_advancing_are_asked_alike_often():
    directions = [item.givens["direction"].value for item in items_of("events-after-slip")]

    assert 0.35 < directions.count("advanced") / len(directions) < 0.65


def test_a_slip_beyond_sense_is_not_asked():
    for item in items_of("events-after-slip"):
        turned = item.givens["teeth_off"].value * 720 / item.givens["cam_teeth"].value
        assert turned <= 60


def test_first_contact_is_never_a_close_call():
    for item in items_of("slip-tolerance"):
        room = item.givens[f"{item.givens['direction'].value}_room_deg"].value
        tooth = 720 / item.givens["cam_teeth"].value
        assert 2 <= room % tooth <= tooth - 2


def test_interference_is_cautioned_where_cams_are_off():
    for family_id in ("events-after-slip", "slip-from-events", "slip-tolerance"):
        for item in items_of(family_id)[:20]:
            assert "valve can meet a piston" in item.caution


def test_a_gap_too_near_to_its_limit_is_not_judged():
    family = find_family("piston-valve-gap")
    for sheet in SHEETS:
        for seed in range(100):
            item = draw_item(family, sheet, seed, level=Level.DIAGNOSE)
            assert abs(item.key.value - item.givens["least_mm"].value) > 0.09
