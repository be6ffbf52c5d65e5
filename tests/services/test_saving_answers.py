"""No acknowledged answer is lost, none counts twice: keys, sequences, places, two tabs at once."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from classroom import new_key, right_given, save, saving, stored_count
from sqlalchemy import text
from workshop import NOON, open_house

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing, one_place, question_pages, saving_answers
from quizsvc.services.sitting.words import Saving
from quizsvc.services.watching import kept_sittings, live_view, results


@pytest.fixture
def token(room, test_id):
    return beginning.begin(room.house, room.ana, test_id, place="desk", now=NOON)


def later(seconds: float):
    return NOON + timedelta(seconds=seconds)


def standing_answer(house, actor, token, number, now, place="desk"):
    page = question_pages.page(house, actor, token, number=number, place=place, now=now)
    return page.typed, page.sequence, page.saved_at


def test_the_same_key_replays_its_acknowledgement_and_stores_nothing_new(room, token):
    key = new_key()
    first = save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(1))

    again = save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(9))

    assert (again.sequence, again.saved_at) == (first.sequence, first.saved_at)
    assert stored_count(room.house, "sitting_save") == 1


@pytest.mark.parametrize(
    ("number", "given", "sequence"),
    [(1, Given(choices=(2,)), 1), (2, Given(choices=(1,)), 1), (1, Given(choices=(1,)), 2)],
)
def test_the_same_key_with_another_answer_is_refused(room, token, number, given, sequence):
    key = new_key()
    save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(1))

    with pytest.raises(ConflictError, match="sent before with another answer"):
        save(room, room.ana, token, number, given, sequence=sequence, key=key, now=later(2))

    assert standing_answer(room.house, room.ana, token, 1, later(3))[1] == 1


def test_a_key_is_bound_to_person_and_sitting(room, test_id, token):
    key = new_key()
    bens = beginning.begin(room.house, room.ben, test_id, place="desk", now=NOON)
    save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(1))

    save(room, room.ben, bens, 1, Given(choices=(2,)), key=key, now=later(2))

    assert standing_answer(room.house, room.ana, token, 1, later(3))[0]["choices"] == ["[1]"]
    assert standing_answer(room.house, room.ben, bens, 1, later(3))[0]["choices"] == ["[2]"]
    with pytest.raises(NotFoundError):
        save(room, room.ben, token, 1, Given(choices=(1,)), key=key, now=later(3))


def test_a_replay_is_acknowledged_even_after_the_end(room, token):
    key = new_key()
    save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(1))
    closing.hand_in(room.house, room.ana, token, now=later(2))

    again = save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(3))

    assert again.saved_at == later(1)
    with pytest.raises(ConflictError, match="handed in"):
        save(room, room.ana, token, 1, Given(choices=(1,)), sequence=2, now=later(3))


def test_an_older_autosave_never_overwrites_a_newer(room, token):
    save(room, room.ana, token, 1, Given(choices=(2,)), sequence=5, now=later(1))

    for late in (5, 4, 1):
        with pytest.raises(ConflictError, match="newer answer"):
            save(room, room.ana, token, 1, Given(choices=(1,)), sequence=late, now=later(2))

    typed, sequence, saved_at = standing_answer(room.house, room.ana, token, 1, later(3))
    assert (typed["choices"], sequence, saved_at) == (["[2]"], 5, later(1))


def test_ten_saves_of_one_key_at_once_give_one_answer(room, token):
    key, told, failed = new_key(), [], []

    def send() -> None:
        try:
            told.append(save(room, room.ana, token, 1, Given(choices=(1,)), key=key, now=later(1)))
        except Exception as failure:  # noqa: BLE001 - shown below
            failed.append(failure)

    threads = [threading.Thread(target=send) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert not failed
    assert len({(one.sequence, one.saved_at) for one in told}) == 1
    assert stored_count(room.house, "sitting_save") == 1


def test_beginning_and_handing_in_ten_times_at_once_happens_once(room, test_id):
    tokens, failed = [], []

    def hurry() -> None:
        try:
            token = beginning.begin(room.house, room.ben, test_id, place="desk", now=NOON)
            tokens.append(token)
            closing.hand_in(room.house, room.ben, token, now=later(5))
        except ConflictError:
            pass  # somebody was quicker: the only try has ended
        except Exception as failure:  # noqa: BLE001 - shown below
            failed.append(failure)

    threads = [threading.Thread(target=hurry) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert not failed
    assert len(set(tokens)) == 1
    assert stored_count(room.house, "sitting") == 1
    assert stored_count(room.house, "sitting_item") == 5


def test_the_newest_place_wins_and_says_so_at_the_other(room, token):
    save(room, room.ana, token, 1, Given(choices=(1,)), now=later(1))
    at_phone = question_pages.page(
        room.house, room.ana, token, number=1, place="phone", now=later(2)
    )
    assert not at_phone.here
    with pytest.raises(ConflictError, match="another place"):
        save(room, room.ana, token, 1, Given(choices=(2,)), sequence=2, place="phone", now=later(2))

    one_place.take_place(room.house, room.ana, token, place="phone", now=later(3))

    with pytest.raises(ConflictError, match="another place at 12:00"):
        save(room, room.ana, token, 1, Given(choices=(3,)), sequence=2, now=later(4))
    moved = save(
        room, room.ana, token, 1, Given(choices=(2,)), sequence=2, place="phone", now=later(5)
    )
    assert moved.answered == 1


def test_an_answer_that_is_not_whole_is_kept_and_counts_as_not_right(room, token):
    partial = Saving({"place-1": ["1"]}, None, 1, new_key())

    told = saving_answers.save(room.house, room.ana, token, 1, partial, place="desk", now=later(1))

    assert told.note == "it is not whole yet"
    assert standing_answer(room.house, room.ana, token, 1, later(2))[0] == {"place-1": ["1"]}
    closing.hand_in(room.house, room.ana, token, now=later(3))
    assert stored_count(room.house, "response") == 0


def test_clearing_an_answer_leaves_the_question_unanswered(room, token):
    save(room, room.ana, token, 1, Given(choices=(1,)), now=later(1))

    told = save(room, room.ana, token, 1, Given(), sequence=2, now=later(2))

    assert told.answered == 0


def test_marks_to_look_again_go_on_and_off_and_are_seen_by_the_watcher(room, token, test_id):
    for wanted, seen in ((True, 1), (True, 1), (False, 0)):
        saving_answers.look_again(
            room.house, room.ana, token, 2, wanted=wanted, place="desk", now=later(1)
        )
        assert (
            live_view.live(room.house, room.ida, test_id, now=later(1)).rows[0].look_again == seen
        )


@pytest.mark.parametrize(
    ("bad", "field"),
    [
        (Saving({}, None, 1, "short"), "key"),
        (Saving({}, None, 0, "k" * 32), "sequence"),
        (Saving({"number": ["9" * 5000]}, None, 1, "k" * 32), "answer"),
    ],
)
def test_requests_that_cannot_be_right_are_refused_by_field(room, token, bad, field):
    with pytest.raises(InputError) as refused:
        saving_answers.save(room.house, room.ana, token, 1, bad, place="desk", now=later(1))

    assert refused.value.field == field


def test_a_restart_of_the_server_loses_nothing(room, token, tmp_path):
    save(room, room.ana, token, 1, right_given(room, token, 1), now=later(1))

    restarted = open_house(room.house.settings.database_url, tmp_path)

    try:
        page = question_pages.page(
            restarted, room.ana, token, number=1, place="desk", now=later(60)
        )
        assert page.saved_at == later(1)
        assert page.left == timedelta(minutes=29)
        sent = saving(Given(choices=(1,)))
        told = saving_answers.save(restarted, room.ana, token, 2, sent, place="desk", now=later(61))
        assert told.answered == 2
    finally:
        restarted.close()


def test_publishing_and_editing_during_a_sitting_changes_nothing_in_it(room, token, test_id):
    def shown():
        pages = [
            question_pages.page(room.house, room.ana, token, number=n, place="desk", now=later(9))
            for n in range(1, 6)
        ]
        return [(page.item.prompt, page.item.options, page.figure) for page in pages]

    before = shown()
    with room.house.write() as connection:
        connection.execute(text("UPDATE bank_item_version SET content = '{}', state = 'withdrawn'"))
        connection.execute(text("UPDATE sheet_revision SET toml = 'spoilt'"))
    room.house.shelf.__init__()

    assert shown() == before
    for number in range(1, 6):
        save(room, room.ana, token, number, right_given(room, token, number), now=later(10))
    closing.hand_in(room.house, room.ana, token, now=later(11))
    kept = kept_sittings.kept(room.house, room.ida, test_id, token, now=later(12))
    assert (kept.points, kept.out_of) == (5, 5)
    results.release(room.house, room.ida, test_id, now=later(13))
    assert stored_count(room.house, "response") == 5


def test_saving_shares_its_form_with_the_page():
    sent = saving(Given(choices=(1, 2)))

    assert sent.typed == {"choices": ["[1, 2]"]}
