"""The firing order is drawn in its order and points out nothing before the answer."""

import pytest
from scene_reading import labels, named, overlapping_labels, words, words_outside

from quizsvc.errors import InputError
from quizsvc.figures.firing_row import FiringRow, describe, draw, places

ORDERS = [(1, 2, 3), (1, 3, 4, 2), (1, 2, 4, 5, 3), (1, 5, 3, 6, 2, 4), (1, 8, 4, 3, 6, 5, 7, 2)]
TWELVE = (1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10)
STATES = [
    FiringRow(order, order[given], question, order[given - 1], intervals)
    for order in (*ORDERS, TWELVE)
    for given in (0, 1, len(order) - 1)
    for question in ("next", "companion")
    for intervals in ((), (None, *(720 / len(order) for _ in order[1:])))
]


@pytest.mark.parametrize("order", [*ORDERS, TWELVE])
def test_boxes_stand_from_left_to_right_in_firing_order(order):
    scene = draw(FiringRow(order))

    lefts = [named(scene, f"box {cylinder}").points[0][0] for cylinder in order]

    assert lefts == sorted(lefts)
    assert [labels(scene, f"place {place}")[0].text for place in range(len(order))] == [
        str(cylinder) for cylinder in order
    ]


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_words_neither_overlap_nor_leave_the_picture(state, solution):
    scene = draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


def test_the_answer_is_pointed_out_in_the_solution_only():
    asked = draw(FiringRow((1, 3, 4, 2), 3, "next", 4))
    solved = draw(FiringRow((1, 3, 4, 2), 3, "next", 4), solution=True)

    assert "next" not in words(asked)
    assert "next" in words(solved)


def test_the_alternative_text_is_the_same_whatever_the_answer_is():
    right, wrong = (FiringRow((1, 3, 4, 2), 3, "companion", answer) for answer in (2, 4))

    assert describe(right) == describe(wrong)


def test_an_asked_interval_is_a_question_mark_until_it_is_answered():
    state = FiringRow(
        (1, 2, 3), question="interval", intervals_deg=(240, None, 240), answer_interval_deg=240
    )

    assert labels(draw(state), "interval 1")[0].text == "?"
    assert labels(draw(state, solution=True), "interval 1")[0].text == "240°"


def test_a_repeated_cylinder_is_refused():
    with pytest.raises(InputError, match="names each cylinder once"):
        draw(FiringRow((1, 3, 3, 2)))


@pytest.mark.parametrize("order", [*ORDERS, TWELVE])
def test_each_box_is_a_place(order):
    state = FiringRow(order)
    scene = draw(state)

    for area in places(state):
        xs = [x for x, _ in named(scene, area.name.replace("cylinder", "box")).points]
        assert min(xs) < area.centre[0] < max(xs)
