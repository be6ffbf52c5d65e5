"""The drawn sprocket pair shows what its state says: pins, marks, strands."""

from itertools import pairwise
from math import atan2, degrees, dist

import pytest
from scene_reading import labels, named, overlapping_labels, words, words_outside

from quizsvc.errors import InputError
from quizsvc.figures.sprocket_pair import Sprocket, SprocketPair, check, describe, draw
from quizsvc.figures.strand_rows import SPACING


def pair(**changed) -> SprocketPair:
    fields = {
        "first": Sprocket("crankshaft", 18, 170),
        "second": Sprocket("camshaft", 36, 45),
        "pins": 40,
    }
    return SprocketPair(**(fields | changed))


def many_pairs():
    for pins in (14, 23, 31, 46, 70):
        for crank_mark, cam_mark in ((170, 45), (135, 10), (190, 330), (180, 0)):
            for counted in ("tight", "slack"):
                for rotation in ("clockwise", "anticlockwise"):
                    state = pair(
                        first=Sprocket("crankshaft", 18, crank_mark),
                        second=Sprocket("intake camshaft", 36, cam_mark),
                        pins=pins,
                        counted=counted,
                        rotation=rotation,
                    )
                    try:
                        draw(state)
                    except InputError:
                        continue
                    yield state
    for slip in range(-3, 4):
        yield pair(
            first=Sprocket("intake camshaft", 40, 0),
            second=Sprocket("exhaust camshaft", 40, slip * 9),
            pins=14 + slip,
            counted="slack",
            arrangement="beside",
        )


STATES = list(many_pairs())


def clock_deg(centre, point) -> float:
    return degrees(atan2(point[0] - centre[0], centre[1] - point[1])) % 360


def centre_of(points):
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return sum(xs) / len(xs), sum(ys) / len(ys)


def test_enough_different_pairs_can_be_drawn():
    assert len(STATES) > 50


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state.pins}-{state.counted}")
def test_the_strand_between_the_marks_holds_the_stated_pins(state):
    counted = named(draw(state), "counted pins").centres

    # The pin at the first mark is not counted, that at the second is.
    assert len(counted) - 1 == state.pins


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state.pins}-{state.counted}")
def test_all_pins_lie_a_pitch_apart_right_round_the_loop(state):
    scene = draw(state)

    loop = named(scene, "chain").points
    gaps = [dist(a, b) for a, b in pairwise((*loop, loop[0]))]

    pitch = gaps[len(named(scene, "counted pins").centres) // 2]
    # Where a strand leaves a wheel, the pins stand on a chord partly over the arc.
    assert gaps == pytest.approx([pitch] * len(gaps), rel=0.02)


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state.pins}-{state.counted}")
def test_marks_point_where_the_state_says_and_at_the_first_and_last_pin(state):
    scene = draw(state)
    counted = named(scene, "counted pins").centres

    for sprocket, pin in ((state.first, counted[0]), (state.second, counted[-1])):
        centre = centre_of(named(scene, f"sprocket {sprocket.name}").points)
        tip = named(scene, f"mark {sprocket.name}").points[0]
        turned = (clock_deg(centre, tip) - sprocket.mark_deg + 180) % 360 - 180
        assert turned == pytest.approx(0, abs=0.5)
        # A slipped sprocket's mark may stand just off the chain; its pin then lies ahead of it.
        turned = (clock_deg(centre, pin) - sprocket.mark_deg + 180) % 360 - 180
        assert turned == pytest.approx(0, abs=3.1 if state.arrangement == "beside" else 0.6)


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state.pins}-{state.counted}")
def test_pins_to_count_are_far_enough_apart_for_a_phone(state):
    scene = draw(state)
    counted = named(scene, "counted pins").centres

    spacing = dist(counted[0], counted[1])

    if spacing < SPACING:
        rows = named(scene, "enlarged pins").centres
        assert len(rows) - 1 == state.pins
        assert min(dist(a, b) for a, b in pairwise(rows)) > 2 * SPACING
    else:
        assert spacing >= SPACING * 0.99


@pytest.mark.parametrize("solution", [False, True], ids=["asked", "solved"])
@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state.pins}-{state.counted}")
def test_words_neither_overlap_nor_leave_the_picture(state, solution):
    scene = draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


def test_only_the_solution_numbers_the_pins():
    state = pair()

    assert labels(draw(state), "pin number") == []
    assert not any("40" in text for text in words(draw(state)))
    solved = draw(state, solution=True)
    assert [int(label.text) for label in labels(solved, "pin number")] == list(range(5, 40, 5))
    assert "pin 40" in words(solved)


def test_the_alternative_text_lets_pins_be_counted_without_saying_how_many():
    state = pair()

    text = describe(state)

    strand = text.split("Pin by pin from the pin at the crankshaft mark:")[1]
    assert strand.count("pin") == 40
    assert "40" not in text
    assert draw(state).alt == text


def test_a_slipped_cam_changes_the_count_but_not_the_centre_distance():
    in_time = pair(second=Sprocket("camshaft", 36, 40), pins=40)
    late = pair(second=Sprocket("camshaft", 36, 30), pins=41)

    centres = [
        [
            centre_of(named(draw(state), name).points)
            for name in ("sprocket crankshaft", "sprocket camshaft")
        ]
        for state in (in_time, late)
    ]

    assert dist(*centres[0]) == pytest.approx(dist(*centres[1]), rel=1e-3)


def test_the_driver_pulls_the_tight_strand():
    # Clockwise, the right side of the lower wheel runs down: the strand there is pulled.
    scene = draw(pair(counted="tight", rotation="clockwise"))

    crank = centre_of(named(scene, "sprocket crankshaft").points)
    middle = named(scene, "counted pins").centres[20]

    assert middle[0] > crank[0]


def test_a_mark_the_chain_does_not_touch_is_refused_with_a_remedy():
    with pytest.raises(InputError, match=r"first\.mark_deg = 5: the chain does not lie on"):
        draw(pair(first=Sprocket("crankshaft", 18, 5)))


def test_too_few_pins_for_the_sprockets_are_refused():
    with pytest.raises(InputError, match="pins = 6"):
        draw(pair(pins=6))


def test_an_unknown_strand_is_refused():
    with pytest.raises(InputError, match="counted = 'left': must be 'tight' or 'slack'"):
        draw(pair(counted="left"))


def test_where_no_blade_fits_only_the_uncounted_strand_is_stretched_a_little():
    # So close a pair leaves no room for a blade, and its loop is no whole number of pitches.
    state = pair(
        first=Sprocket("crankshaft", 18, 170),
        second=Sprocket("camshaft", 36, 28),
        pins=20,
    )

    scene = draw(state)
    counted = named(scene, "counted pins").centres
    loop = named(scene, "chain").points

    assert not [s for s in scene.shapes if getattr(s, "name", "") == "blade"]
    assert len(counted) - 1 == 20
    gaps = [dist(a, b) for a, b in pairwise((*loop, loop[0]))]
    assert gaps[:20] == pytest.approx([gaps[8]] * 20, rel=0.02)
    assert gaps == pytest.approx([gaps[8]] * len(gaps), rel=0.05)


def test_what_cannot_be_drawn_can_be_found_out_beforehand():
    check(pair())

    with pytest.raises(InputError):
        check(pair(pins=6))
