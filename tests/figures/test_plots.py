"""Plots of item analysis: what they say is what is drawn, and no words collide."""

from __future__ import annotations

import pytest
from figures.scene_reading import named, overlapping_labels, words, words_outside

from quizsvc.figures.plots import item_information, item_map, option_curves, share_bars
from quizsvc.figures.plots.item_information import ItemCurve, tells_most_at
from quizsvc.figures.plots.item_map import ItemDot, ItemMap
from quizsvc.figures.plots.option_curves import OptionCurve, OptionCurves
from quizsvc.figures.plots.share_bars import Share, ShareBars

CURVES = OptionCurves(
    (
        OptionCurve("A", True, (0.2, 0.4, 0.6, 0.9)),
        OptionCurve("B", False, (0.5, 0.3, 0.2, 0.05)),
        OptionCurve("C", False, (0.3, 0.3, 0.2, 0.05)),
    )
)
DOTS = ItemMap((ItemDot(0.9, 0.3), ItemDot(0.4, -0.1, 1), ItemDot(1.0, 2.0, 2)))
CURVE = ItemCurve(1.2, 0.4, 0.25)
BARS = ShareBars(
    (Share("140 to 235", 0.6, 0.4, 0.8, 20), Share("a long name, revision 12", 0.2, 0.1, 0.4, 30))
)
PLOTS = [
    (option_curves, CURVES),
    (item_map, DOTS),
    (item_information, CURVE),
    (item_information, ItemCurve(0.3, 4.0, 0.0)),
    (share_bars, BARS),
]


@pytest.mark.parametrize(("plot", "state"), PLOTS)
def test_a_plot_says_what_it_shows_and_its_words_stand_apart(plot, state):
    scene = plot.draw(state)

    assert scene.alt == plot.describe(state)
    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


def test_the_right_option_rises_in_the_picture_and_in_words():
    scene = option_curves.draw(CURVES)

    heights = [y for _, y in named(scene, "curve A").points]
    assert heights == sorted(heights, reverse=True)  # up is less
    assert "A (right) from 20% to 90%" in scene.alt
    assert "A right" in words(scene)


def test_curves_that_end_alike_share_one_line_of_letters():
    assert "B C" in words(option_curves.draw(CURVES))


def test_an_item_stands_where_its_share_and_link_say():
    scene = item_map.draw(DOTS)

    odd, far = named(scene, "odd 1"), named(scene, "odd 2")
    assert odd.centre[0] < far.centre[0]
    assert odd.centre[1] > far.centre[1]
    assert far.centre[1] >= 52  # beyond the scale it stays at the edge


def test_without_guessing_an_item_tells_most_at_its_difficulty():
    assert tells_most_at(ItemCurve(1.5, 0.7, 0.0)) == pytest.approx(0.7)


def test_guessing_moves_what_it_tells_most_about_up():
    # Birnbaum 1968: b + ln((1 + sqrt(1 + 8c)) / 2) / a.
    assert tells_most_at(ItemCurve(1.0, 0.0, 0.25)) == pytest.approx(0.3119, abs=0.06)


def test_a_share_lies_within_its_interval_in_the_picture():
    scene = share_bars.draw(BARS)

    assert "140 to 235: 60% of 20, likely 40% to 80%" in scene.alt
    assert "of 20" in words(scene)
