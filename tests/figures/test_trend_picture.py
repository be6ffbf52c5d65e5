"""The trend of a team: two lines told in words, named at their ends, never on each other."""

from datetime import date, timedelta

import pytest
from scene_reading import overlapping_labels, words_outside

from quizsvc.figures.plots.team_trend import TeamTrend, TrendWeek, describe, draw
from quizsvc.figures.scene import Polyline

START = date(2026, 1, 5)


def trend(*pairs):
    return TeamTrend(
        tuple(
            TrendWeek(START + timedelta(weeks=n), chance, above)
            for n, (chance, above) in enumerate(pairs)
        )
    )


@pytest.mark.parametrize(
    "state",
    [
        trend((0.5, 0.1), (0.7, 0.4)),
        trend((0.5, 0.5), (0.5, 0.5)),
        trend((0.0, 0.0), (0.0, 0.0)),
        trend((1.0, 1.0), (1.0, 0.99)),
        trend(*((0.5 + n / 100, n / 60) for n in range(26))),
    ],
)
def test_words_never_meet_and_never_leave_the_picture(state):
    scene = draw(state)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []
    assert scene.alt == describe(state)


def test_a_higher_share_is_drawn_higher_by_as_much():
    scene = draw(trend((0.25, 0.0), (0.75, 0.5)))

    lines = {one.name: one.points for one in scene.shapes if isinstance(one, Polyline)}
    (_, low), (_, high) = lines["chance"]
    (_, zero), (_, half) = lines["above"]
    assert low - high == pytest.approx(zero - half)
    assert zero > low > half > high


def test_the_words_give_both_ends():
    told = describe(trend((0.5, 0.1), (0.6, 0.2), (0.7, 0.4)))

    assert "over 3 weeks" in told
    assert "50%, then 70%" in told
    assert "10%, then 40%" in told
