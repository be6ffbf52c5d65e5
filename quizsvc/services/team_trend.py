"""The trend of a team: counted once per week and kept, since counting reads every answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby

from quizsvc.figures.plots.team_trend import TeamTrend, TrendWeek, draw
from quizsvc.figures.scene import Scene
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.competence import Belief
from quizsvc.scoring.standing import of_level
from quizsvc.services.house import House
from quizsvc.services.standings import days_between
from quizsvc.store import people, team_weeks
from quizsvc.store.team_weeks import LastAnswer, WeekRow

WEEK = timedelta(days=7)
MOST_WEEKS = 26
FEWEST_PEOPLE = 3  # fewer could be told from the picture


@dataclass(frozen=True, slots=True)
class TrendPage:
    """The picture, None before there is enough, and its numbers as a table."""

    picture: Scene | None
    weeks: tuple[TrendWeek, ...]
    fewest: int


def read_trend(house: House, actor: Actor) -> TrendPage:
    """Return how the shop's team stood week by week, of everybody together."""
    require(actor, May.SEE_READINESS)
    with house.read_for_report() as connection:
        rows = team_weeks.weeks_of(connection, actor.shop_id)
    by_week = groupby(rows, key=lambda row: row.week_end)
    weeks = tuple(week for end, group in by_week if (week := _week(end, tuple(group))) is not None)[
        -MOST_WEEKS:
    ]
    picture = draw(TeamTrend(weeks)) if len(weeks) > 1 else None
    return TrendPage(picture, weeks, FEWEST_PEOPLE)


def count_weeks(house: House, *, now: datetime) -> int:
    """Count every week that is over and not counted yet, in all shops; return how many.

    Fading between somebody's last answer and the week's end is left out, so the line shows what
    was last known of people, and it can only fall by what they answer or by age of evidence.
    """
    counted = 0
    with house.read() as connection:
        shops = people.all_shops(connection)
    for shop in shops:
        with house.write() as connection:
            team_weeks.lock_shop(connection, shop.id)
            known = {row.week_end for row in team_weeks.weeks_of(connection, shop.id)}
            first = team_weeks.first_answer_at(connection, shop.id)
            for end in _ends(first, max(known, default=None), now):
                answers = team_weeks.last_answers(connection, shop.id, before=end)
                team_weeks.add_weeks(connection, shop.id, _rows(answers, end))
                counted += 1
    return counted


class WeeklyCount:
    """Counts the weeks that are over when one has ended, and once after the program starts.

    What was done is remembered per process: asking the database every second whether there is
    something to count would read the answers each time.
    """

    def __init__(self) -> None:
        self._counted_to: datetime | None = None

    def __call__(self, house: House, now: datetime) -> int:
        monday = _monday(now)
        if monday == self._counted_to:
            return 0
        counted = count_weeks(house, now=now)
        self._counted_to = monday
        return counted


def _monday(now: datetime) -> datetime:
    """Return the start of the week, Monday 00:00 UTC."""
    midnight = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    return midnight - timedelta(days=midnight.weekday())


def _ends(first: datetime | None, last: datetime | None, now: datetime) -> list[datetime]:
    """Return the ends of weeks, Monday 00:00 UTC, after what is counted and not after now."""
    if first is None:
        return []
    end = _monday(max(last or first, now - MOST_WEEKS * WEEK)) + WEEK
    found = []
    while end <= now:
        found.append(end)
        end += WEEK
    return found


def _rows(answers: Iterable[LastAnswer], end: datetime) -> list[WeekRow]:
    by_topic: dict[str, list[tuple[bool, float]]] = {}
    for one in answers:
        standing = of_level(
            Belief(one.mean, one.variance),
            answers=one.nth,
            days_idle=days_between(one.answered_at, end),
        )
        by_topic.setdefault(one.topic, []).append((standing.ready, standing.chance))
    return [
        WeekRow(
            end,
            topic,
            len(found),
            sum(ready for ready, _ in found),
            sum(chance for _, chance in found) / len(found),
        )
        for topic, found in sorted(by_topic.items())
    ]


def _week(end: datetime, rows: tuple[WeekRow, ...]) -> TrendWeek | None:
    """Return a week of the whole team; None where it would tell of single people."""
    pairs = sum(row.people for row in rows)
    if max(row.people for row in rows) < FEWEST_PEOPLE:
        return None
    chance = sum(row.chance * row.people for row in rows) / pairs
    return TrendWeek(end.date(), chance, sum(row.above for row in rows) / pairs)
