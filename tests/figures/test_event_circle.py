"""Valve events stand where a cam card puts them, and hidden ones stay hidden."""

from math import atan2, degrees

import pytest
from scene_reading import labels as labels_of
from scene_reading import named, overlapping_labels, words, words_outside

from quizsvc.errors import InputError
from quizsvc.figures.event_circle import (
    CENTRE,
    EVENTS,
    SPANS,
    EventCircle,
    describe,
    draw,
    letters,
    places,
)
from quizsvc.timing.valves import ValveEvents

EVENT_SETS = [
    (20, 60, 60, 20),
    (6, 42, 40, 12),
    (-10, 39, 35, -5),
    (-10, 39, 35, 12),
    (34, 78, 80, 41),
    (-20, 10, -5, -12),
    (12.5, 48.5, 50.5, 7.5),
    (0, 60, 60, 0),
]
STATES = [
    EventCircle(*events, hidden=hidden, span=span)
    for events in EVENT_SETS
    for hidden in ((), ("IVC",), ("IVO", "EVC"))
    for span in ("", *SPANS)
]


def drawn_deg(scene, name) -> float:
    end = named(scene, f"event {name}").strokes[0][1]
    return degrees(atan2(end[0] - CENTRE[0], CENTRE[1] - end[1])) % 360


@pytest.mark.parametrize("events", EVENT_SETS)
def test_events_stand_before_and_after_the_dead_centres_as_stated(events):
    ivo, ivc, evo, evc = events

    scene = draw(EventCircle(*events))

    wanted = {"IVO": -ivo, "IVC": 180 + ivc, "EVO": 180 - evo, "EVC": evc}
    for name, deg in wanted.items():
        assert drawn_deg(scene, name) == pytest.approx(deg % 360, abs=1e-6)


@pytest.mark.parametrize("events", EVENT_SETS)
def test_open_bands_run_as_long_as_the_core_says(events):
    core = ValveEvents(*events)

    scene = draw(EventCircle(*events))

    assert named(scene, "intake open").sweep_deg == pytest.approx(core.intake_duration_deg)
    assert named(scene, "exhaust open").sweep_deg == pytest.approx(core.exhaust_duration_deg)


@pytest.mark.parametrize("events", EVENT_SETS)
def test_asked_spans_are_those_of_the_core(events):
    core = ValveEvents(*events)
    wanted = {
        "intake duration": core.intake_duration_deg,
        "exhaust duration": core.exhaust_duration_deg,
        "overlap": core.overlap_deg,
        "intake lobe centre": core.intake_lobe_centre_atdc,
        "exhaust lobe centre": core.exhaust_lobe_centre_btdc,
    }

    drawn = {
        span: named(draw(EventCircle(*events, span=span)), "span").sweep_deg
        for span in wanted
        if span != "overlap" or core.overlap_deg
    }

    for span, sweep in drawn.items():
        assert sweep == pytest.approx(wanted[span])


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_words_neither_overlap_nor_leave_the_picture(state, solution):
    scene = draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


@pytest.mark.parametrize("name", EVENTS)
def test_a_hidden_event_is_neither_written_nor_said_before_the_answer(name):
    state = EventCircle(21, 62, 63, 24, hidden=(name,))
    number = {"IVO": "21", "IVC": "62", "EVO": "63", "EVC": "24"}[name]

    assert not any(number in text for text in words(draw(state)))
    assert number not in describe(state)
    assert any(number in text for text in words(draw(state, solution=True)))


@pytest.mark.parametrize("span", SPANS)
def test_an_asked_span_shows_its_number_in_the_solution_only(span):
    state = EventCircle(20, 60, 62, 25, span=span)

    asked = labels_of(draw(state), "span number")
    solved = labels_of(draw(state, solution=True), "span number")

    assert [label.text for label in asked] == ["?"]
    assert solved[0].text.endswith("°")
    assert solved[0].text not in describe(state)


def test_an_unknown_event_is_refused():
    with pytest.raises(InputError, match="hidden = 'IVX'"):
        draw(EventCircle(20, 60, 60, 20, hidden=("IVX",)))


@pytest.mark.parametrize("events", EVENT_SETS)
def test_lettered_events_stand_at_their_ticks_and_are_named_in_the_solution_only(events):
    state = EventCircle(*events, lettered=True)

    areas = {area.name: area for area in places(state)}

    for name, letter in letters(state).items():
        x, y = areas[letter].centre
        deg = degrees(atan2(x - CENTRE[0], CENTRE[1] - y)) % 360
        assert deg == pytest.approx(drawn_deg(draw(state), name), abs=1e-6)
        assert name not in describe(state)
        assert name not in " ".join(words(draw(state)))
        assert f"{letter} {name}" in words(draw(state, solution=True))


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize("events", EVENT_SETS)
def test_letters_do_not_overlap(events, solution):
    scene = draw(EventCircle(*events, lettered=True), solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []
