"""Deeds in any order, from two tabs, an instructor and the clock, beside a plain model of them."""

from __future__ import annotations

import shutil
from datetime import timedelta
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from classroom import BLANK, WRITTEN, Room, give_out, make_room, new_key, save, stored_count
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from workshop import NOON, Workshop, open_house, stock

from quizsvc.errors import ConflictError
from quizsvc.rules.sitting_clock import GRACE
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing, one_place
from quizsvc.services.watching import clocks, results
from quizsvc.store import sitting_items, sittings

QUESTIONS = len(WRITTEN)
TABS = ("desk", "phone")
_houses = count()
_folder = TemporaryDirectory(prefix="quizsvc-machine-", ignore_cleanup_errors=True)


def furnished() -> Room:
    """Return a room in a copy of one stocked database."""
    folder = Path(_folder.name)
    original = folder / "original.sqlite3"
    if not original.exists():
        house = open_house(f"sqlite:///{original}", folder, upgrade=True)
        shop_id, people = stock(house, folder)
        make_room(Workshop(house, shop_id, people))
        house.close()
        (folder / "people").write_text("stocked")
        furnished.stocked = shop_id, people
    shop_id, people = furnished.stocked
    copied = shutil.copy(original, folder / f"house-{next(_houses)}.sqlite3")
    house = open_house(f"sqlite:///{copied}", folder)
    return Room(house, people["ida"], people["ana"], people["ben"], class_id=1)


class SittingMachine(RuleBasedStateMachine):
    """The model: answers that were acknowledged, seconds used, state, place, void questions."""

    def __init__(self) -> None:
        super().__init__()
        self.now, self.place, self.state = NOON, TABS[0], "open"
        self.used, self.allowed = timedelta(0), timedelta(minutes=30)
        self.answers: dict[int, tuple[int, int]] = {}  # number -> sequence, choice
        self.sent: dict[str, tuple[int, int, int, str]] = {}
        self.void: set[int] = set()
        self.responses = 0

    @initialize()
    def begin(self) -> None:
        self.room = furnished()
        self.test = give_out(self.room, BLANK["test"])
        self.token = beginning.begin(
            self.room.house, self.room.ana, self.test, place=self.place, now=self.now
        )

    def teardown(self) -> None:
        if hasattr(self, "room"):
            self.room.house.close()

    @property
    def running(self) -> bool:
        return self.state in {"open", "paused"}

    def settle(self) -> None:
        """Let the model's time end the sitting, as any look at it does."""
        if self.state == "open" and self.used >= self.allowed + GRACE:
            self.state = "closed"

    @rule(seconds=st.sampled_from([1, 30, 400, 1200]))
    def time_passes(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)
        if self.state == "open":
            self.used += timedelta(seconds=seconds)

    @rule(
        number=st.integers(1, QUESTIONS),
        choice=st.integers(1, 2),
        ahead=st.integers(-1, 3),
        tab=st.sampled_from(TABS),
    )
    def answer(self, number: int, choice: int, ahead: int, tab: str) -> None:
        self.settle()
        sequence = max(1, self.answers.get(number, (0, 0))[0] + ahead)
        fresh = sequence > self.answers.get(number, (0, 0))[0]
        takes = self.state == "open" and tab == self.place and fresh
        key = new_key()
        try:
            self._save(number, choice, sequence, key, tab)
        except ConflictError:
            assert not takes
        else:
            assert takes
            self.answers[number] = (sequence, choice)
            self.sent[key] = (number, choice, sequence, tab)

    @precondition(lambda self: self.sent)
    @rule(data=st.data())
    def send_again_what_was_acknowledged(self, data: st.DataObject) -> None:
        key = data.draw(st.sampled_from(sorted(self.sent)))
        number, choice, sequence, tab = self.sent[key]
        self.settle()

        told = self._save(number, choice, sequence, key, tab)

        assert told.sequence == sequence

    @rule(tab=st.sampled_from(TABS))
    def continue_at(self, tab: str) -> None:
        self.settle()
        try:
            one_place.take_place(
                self.room.house, self.room.ana, self.token, place=tab, now=self.now
            )
        except ConflictError:
            assert not self.running
        else:
            assert self.running
            self.place = tab

    @rule()
    def leave_and_return(self) -> None:
        self.settle()
        again = None
        try:
            again = beginning.begin(
                self.room.house, self.room.ana, self.test, place=self.place, now=self.now
            )
        except ConflictError:
            assert not self.running
        assert again == (self.token if self.running else None)

    @rule()
    def pause_all(self) -> None:
        self.settle()
        reached = clocks.pause_all(self.room.house, self.room.ida, self.test, now=self.now)
        assert reached == (self.state == "open")
        self.state = "paused" if self.state == "open" else self.state

    @rule()
    def go_on_all(self) -> None:
        self.settle()
        reached = clocks.go_on_all(self.room.house, self.room.ida, self.test, now=self.now)
        assert reached == (self.state == "paused")
        self.state = "open" if self.state == "paused" else self.state

    @rule(minutes=st.sampled_from([1, 10]))
    def add_minutes(self, minutes: int) -> None:
        self.settle()
        try:
            clocks.add_minutes(self.room.house, self.room.ida, self.test, minutes, now=self.now)
        except ConflictError:
            assert not self.running
        else:
            assert self.running
            self.allowed += timedelta(minutes=minutes)

    @rule(place=st.integers(1, QUESTIONS))
    def void(self, place: int) -> None:
        self.settle()
        results.void(
            self.room.house, self.room.ida, self.test, place, "it was ambiguous", now=self.now
        )
        self.void.add(place)

    @rule()
    def hand_in(self) -> None:
        self.settle()
        closing.hand_in(self.room.house, self.room.ana, self.token, now=self.now)
        self.state = "handed in" if self.running else self.state

    @rule()
    def sweep(self) -> None:
        open_before = self.state == "open"
        self.settle()
        closed = closing.close_all_over(self.room.house, now=self.now)
        closing.count_all_told(self.room.house, now=self.now)
        assert closed == (open_before and self.state == "closed")

    @precondition(lambda self: not self.running)
    @rule()
    def release(self) -> None:
        results.release(self.room.house, self.room.ida, self.test, now=self.now)

    @invariant()
    def what_is_stored_is_what_was_acknowledged(self) -> None:
        if not hasattr(self, "room"):
            return
        with self.room.house.read() as connection:
            sitting = sittings.find_sitting(connection, self.token)
            items = sitting_items.items_of(connection, sitting.id)
        stored = {
            one.number: (one.sequence, int(one.typed.split("[")[2][0]))
            for one in items
            if one.saved_at is not None
        }
        assert stored == self.answers
        assert stored_count(self.room.house, "sitting_save") == len(self.sent)
        assert stored_count(self.room.house, "response") <= QUESTIONS
        if sitting.finished_at is not None:
            assert sitting.out_of == QUESTIONS - len(self.void)
            right = sum(bool(one.correct) for one in items)
            assert sitting.points <= right

    def _save(self, number: int, choice: int, sequence: int, key: str, tab: str):
        return save(
            self.room,
            self.room.ana,
            self.token,
            number,
            Given(choices=(choice,)),
            sequence=sequence,
            key=key,
            place=tab,
            now=self.now,
        )


TestSittingMachine = SittingMachine.TestCase
TestSittingMachine.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
