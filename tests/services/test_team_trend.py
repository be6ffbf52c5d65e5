"""The team week by week: counted once, of everybody together, never of a few."""

from __future__ import annotations

from datetime import timedelta

from workshop import NOON

from quizsvc.services import practise
from quizsvc.services.shown import Given
from quizsvc.services.team_trend import FEWEST_PEOPLE, WeeklyCount, count_weeks, read_trend
from quizsvc.store import team_weeks


def answer(house, actor, at):
    token = practise.put_next(house, actor, topic="safety", sheet=None, now=at)
    practise.answer(house, actor, token, Given(choices=(1,)), now=at)


def test_each_week_that_is_over_is_counted_once(house, workshop, ana):
    answer(house, ana, NOON)  # a Monday

    assert count_weeks(house, now=NOON + timedelta(days=6)) == 0
    assert count_weeks(house, now=NOON + timedelta(days=15)) == 2
    assert count_weeks(house, now=NOON + timedelta(days=15)) == 0

    with house.read() as connection:
        rows = team_weeks.weeks_of(connection, workshop.shop_id)
    assert [(row.topic, row.people) for row in rows] == [("safety", 1), ("safety", 1)]
    assert rows[1].week_end - rows[0].week_end == timedelta(days=7)


def test_the_worker_counts_when_a_week_has_ended_and_then_rests(house, ana):
    answer(house, ana, NOON)
    chore = WeeklyCount()

    counted = [chore(house, NOON + timedelta(days=days)) for days in (1, 2, 8, 9, 15)]

    assert counted == [0, 0, 1, 0, 1]


def test_a_week_that_would_tell_of_single_people_is_not_shown(house, ana, max_):
    answer(house, ana, NOON)
    count_weeks(house, now=NOON + timedelta(days=15))

    page = read_trend(house, max_)

    assert page.weeks == ()
    assert page.picture is None
    assert page.fewest == FEWEST_PEOPLE == 3
