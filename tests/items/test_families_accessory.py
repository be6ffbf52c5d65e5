"""Accessory families against published values and second methods."""

from __future__ import annotations

import pytest
from drawn_items import items_of

from quizsvc.figures.drive_state import path_of
from quizsvc.items.families.belt_length import Open
from quizsvc.items.families.pulley_speed import Pair
from quizsvc.items.families.pulley_turn import Round
from quizsvc.items.round_drive import round_drive
from quizsvc.sheets.schema import Rotation


def test_an_open_belt_of_105_and_393_mm_is_2206_114_mm_long():
    # Second method (shapely): open belt Ø105/393, C 697 mm.
    belt = Open(105, 393, 697)

    assert belt.length_mm == pytest.approx(2206.114, abs=0.0005)
    assert belt.wrap_deg == pytest.approx(156.154, abs=0.0005)


def test_a_pulley_half_as_large_turns_twice_as_fast():
    # By hand; published as v = πDn in belt texts.
    pair = Pair(150, 75, 1000, 1900)

    assert pair.driven_rpm == 2000
    assert pair.slip_percent == pytest.approx(5)


def test_pulleys_on_the_back_turn_against_the_crankshaft():
    # Common practice, no source: a ribbed belt drives the coolant pump with its back.
    state = Round(("steering pump", "coolant pump", "alternator"), (False, True, False),
                  Rotation.CLOCKWISE)  # fmt: skip

    assert state.against == ("coolant pump",)
    assert state.every_second() == ("steering pump", "alternator")


@pytest.mark.parametrize("clockwise", [True, False])
def test_a_drawn_belt_lies_on_every_pulley(clockwise):
    names = ("idler", "coolant pump", "alternator", "tensioner")
    view = round_drive(names, (False, True, False, True), clockwise=clockwise)

    path = path_of(view)

    assert sum(arc.wrap_deg for arc in path.arcs) == pytest.approx(360)
    assert [arc.wrap_deg < 0 for arc in path.arcs] == [False, False, True, False, True]


def test_a_loop_that_cannot_lie_is_not_drawn():
    # Three wheels in a row on the back leave nothing for the belt to hang on.
    assert round_drive(("a", "b", "c", "d"), (True, True, True, False), clockwise=True) is None


def test_slip_asked_is_what_a_belt_can_do():
    for item in items_of("pulley-speed"):
        if item.asked.quantity == "slip_percent":
            assert 1 < item.key.value < 20


def test_rotating_parts_are_cautioned():
    for family_id in ("pulley-speed", "pulley-turn"):
        for item in items_of(family_id)[:20]:
            assert "while the engine can turn" in item.caution
