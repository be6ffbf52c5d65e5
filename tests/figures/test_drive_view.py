"""The front view shows a drive as the sheet states it: every pin, mark, guide and its tensioner."""

from itertools import pairwise
from math import atan2, degrees, dist

import pytest
from scene_reading import labels, named, overlapping_labels, words, words_outside

from quizsvc.errors import InputError
from quizsvc.figures.drive_view import DriveView, ViewWheel, counted_pins, describe, draw, places
from quizsvc.figures.from_sheet import drive_view
from quizsvc.sheets.loading import shipped_sheets

SHEETS = shipped_sheets()
DRIVES = [(sheet, drive) for sheet in SHEETS.values() for drive in sheet.drives]
IDS = [f"{sheet.id}-{drive.id}" for sheet, drive in DRIVES]
CHAINS = [(sheet, drive) for sheet, drive in DRIVES if drive.kind == "chain"]
CHAIN_IDS = [f"{sheet.id}-{drive.id}" for sheet, drive in CHAINS]


def counted_of(drive):
    return (drive.mark_pins[0].from_wheel, drive.mark_pins[0].to_wheel) if drive.mark_pins else None


def view(sheet, drive, **options) -> DriveView:
    return drive_view(sheet, drive.id, **options)


def two_wheels(**changed) -> DriveView:
    wheels = (
        ViewWheel("crankshaft", 0, 0, 23.04, 18, mark_deg=180),
        ViewWheel("camshaft", 0, 300, 45.9, 36, mark_deg=0),
    )
    fields = {"wheels": wheels, "clockwise": True, "pitch_mm": 8.0}
    return DriveView(**(fields | changed))


@pytest.mark.parametrize(("sheet", "drive"), CHAINS, ids=CHAIN_IDS)
def test_every_pin_of_the_chain_is_drawn(sheet, drive):
    scene = draw(view(sheet, drive))

    assert len(named(scene, "pins").centres) == drive.pins


@pytest.mark.parametrize(("sheet", "drive"), CHAINS, ids=CHAIN_IDS)
def test_pins_lie_a_pitch_apart_right_round_the_loop(sheet, drive):
    pins = named(draw(view(sheet, drive)), "pins").centres

    gaps = [dist(a, b) for a, b in pairwise((*pins, pins[0]))]

    middle = sorted(gaps)[len(gaps) // 2]
    assert gaps == pytest.approx([middle] * len(gaps), rel=0.03)


@pytest.mark.parametrize(("sheet", "drive"), CHAINS, ids=CHAIN_IDS)
def test_the_pins_between_the_marks_are_those_that_the_sheet_states(sheet, drive):
    for stated in drive.mark_pins:
        state = view(sheet, drive, counted=(stated.from_wheel, stated.to_wheel))

        assert counted_pins(state) == stated.pins
        assert len(named(draw(state), "counted").centres) == stated.pins + 1


@pytest.mark.parametrize(("sheet", "drive"), DRIVES, ids=IDS)
def test_marks_point_where_the_sheet_says_in_the_marks_position(sheet, drive):
    scene = draw(view(sheet, drive))
    names = {w.name: w for w in view(sheet, drive).wheels}

    for name, wheel in names.items():
        if wheel.mark_deg is None:
            continue
        tip, *foot = named(scene, f"mark {name}").points
        x, y = (foot[0][0] + foot[1][0]) / 2, (foot[0][1] + foot[1][1]) / 2
        pointed = degrees(atan2(tip[0] - x, y - tip[1]))
        assert (pointed - wheel.mark_deg + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)
    stated = {round(w.mark.at_deg % 360, 6) for w in drive.wheels if w.mark}
    assert {round(w.mark_deg, 6) for w in names.values() if w.mark_deg is not None} == stated


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize("letters", [False, True])
@pytest.mark.parametrize(("sheet", "drive"), DRIVES, ids=IDS)
def test_words_neither_overlap_nor_leave_the_picture(sheet, drive, letters, solution):
    state = view(sheet, drive, counted=counted_of(drive), letters=letters, extension_mm=6)

    scene = draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


def test_turning_the_crank_turns_a_cam_mark_half_as_far():
    sheet, drive = DRIVES[0]

    start = view(sheet, drive)
    turned = view(sheet, drive, crank_deg=sheet.marks_position.crank_deg + 60)

    moved = {
        one.name: round((other.mark_deg - one.mark_deg) % 360, 6)
        for one, other in zip(start.wheels, turned.wheels, strict=True)
        if one.mark_deg is not None
    }
    assert moved["crankshaft"] == 60
    assert moved["intake camshaft"] == 30
    assert start.marked_pins
    assert not turned.marked_pins


def test_lettered_wheels_are_named_in_the_solution_only():
    sheet, drive = DRIVES[0]
    state = view(sheet, drive, letters=True)

    asked = draw(state)

    assert not any("camshaft" in text or "tensioner" in text for text in words(asked))
    assert "camshaft" not in describe(state)
    assert "guide" not in describe(state)
    assert any("camshaft" in text for text in words(draw(state, solution=True)))


def test_each_wheel_is_a_place_to_point_at():
    sheet, drive = DRIVES[0]

    areas = places(view(sheet, drive, letters=True))

    assert [area.name for area in areas] == list("ABCDE")
    assert all(area.radius >= 18 for area in areas)


def test_places_do_not_overlap():
    for sheet, drive in DRIVES:
        areas = places(view(sheet, drive))
        for number, one in enumerate(areas):
            for other in areas[number + 1 :]:
                assert dist(one.centre, other.centre) > max(one.radius, other.radius)


def test_the_groove_is_drawn_once_the_plunger_has_come_out_to_it():
    wheels = (
        ViewWheel("crankshaft", 0, 0, 23, 18),
        ViewWheel("tensioner", -60, 150, 30, back=True, part="tensioner"),
        ViewWheel("camshaft", 0, 300, 46, 36),
    )
    before = two_wheels(wheels=wheels, extension_mm=9, groove_at_mm=10)
    after = two_wheels(wheels=wheels, extension_mm=11, groove_at_mm=10)

    assert [s for s in draw(before).shapes if getattr(s, "name", "") == "groove"] == []
    assert named(draw(after), "groove")


def test_the_solution_numbers_the_last_counted_pin():
    state = two_wheels(counted=("crankshaft", "camshaft"))

    asked, solved = draw(state), draw(state, solution=True)

    assert labels(asked, "pin number") == []
    assert str(counted_pins(state)) in [label.text for label in labels(solved, "pin number")]


def test_a_belt_without_pins_is_drawn_as_a_line():
    scene = draw(two_wheels(pitch_mm=0.0))

    drawn = [shape for shape in scene.shapes if getattr(shape, "name", "") == "belt"]
    assert len(drawn) == 3  # an arc on each wheel, and the strands


def test_pins_cannot_be_counted_from_a_wheel_without_a_mark():
    wheels = (ViewWheel("crankshaft", 0, 0, 23, 18), ViewWheel("camshaft", 0, 300, 46, 36))

    with pytest.raises(InputError, match="counted = 'crankshaft'"):
        draw(two_wheels(wheels=wheels, counted=("crankshaft", "camshaft")))
