"""Steady time: a machine whose clock is set an hour forward or back ends and extends nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest
from classroom import BLANK, give_out
from workshop import NOON

from quizsvc.rules.sittings import State
from quizsvc.services.sitting import beginning, closing, one_place
from quizsvc.services.steady import Machine, steady_now, this_machine

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)


@dataclass
class Clockwork:
    """A machine whose clock and uptime a test moves apart."""

    boot: str = "first boot"
    since_boot: timedelta = field(default_factory=lambda: timedelta(days=3))
    wall: datetime = NOON

    def machine(self) -> Machine:
        return Machine(self.boot, lambda: self.since_boot, lambda: self.wall)

    def pass_time(self, span: timedelta) -> None:
        self.since_boot += span
        self.wall += span


@pytest.fixture
def works():
    return Clockwork()


@pytest.fixture
def now(house, works):
    return lambda: steady_now(house, works.machine())


@pytest.fixture
def token(room, now):
    return beginning.begin(
        room.house, room.ana, give_out(room, BLANK["test"]), place="desk", now=now()
    )


@pytest.mark.parametrize("jump", [HOUR, -HOUR])
def test_a_clock_that_is_set_during_a_test_ends_and_extends_nothing(room, token, works, now, jump):
    works.pass_time(10 * MINUTE)
    works.wall += jump

    assert closing.close_all_over(room.house, now=now()) == 0
    held = closing.settle(room.house, room.ana, token, now=now())
    assert held.sitting.state is State.OPEN
    assert held.sitting.clock.left(now()) == 20 * MINUTE

    works.pass_time(21 * MINUTE)
    assert closing.close_all_over(room.house, now=now()) == 1


def test_when_nobody_sits_it_follows_the_machines_clock(works, now):
    assert now() == NOON
    works.wall += HOUR

    assert now() == NOON + HOUR


def test_small_differences_between_clocks_move_nothing(works, now):
    now()
    works.wall += timedelta(seconds=1.5)

    assert now() == NOON


@pytest.mark.usefixtures("token")
def test_other_processes_of_the_machine_and_later_ones_go_by_the_same_anchor(room, works, now):
    works.wall += HOUR
    other = Clockwork(works.boot, works.since_boot, works.wall)

    assert steady_now(room.house, other.machine()) == now() == NOON


def test_after_a_restart_of_the_machine_with_a_clock_set_back_time_goes_on(room, token, works, now):
    works.pass_time(10 * MINUTE)
    one_place.take_place(room.house, room.ana, token, place="phone", now=now())
    works.boot, works.since_boot, works.wall = "second boot", MINUTE, NOON - HOUR

    assert now() == NOON + 10 * MINUTE
    assert closing.settle(room.house, room.ana, token, now=now()).sitting.state is State.OPEN


def test_this_machine_counts_up():
    machine = this_machine()

    assert machine.boot
    assert machine.uptime() <= machine.uptime()
