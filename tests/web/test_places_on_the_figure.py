"""Letters on the places of a point item."""

from dataclasses import replace

from furnished import BANK

from quizsvc.figures.scene import Label
from quizsvc.web.components import samples
from quizsvc.web.practise.places import lettered, letters_over


def test_every_place_carries_its_letter_where_it_is():
    scene = lettered(samples.FIGURE, samples.POINT.places)

    added = scene.shapes[len(samples.FIGURE.shapes) :]
    letters = [shape for shape in added if isinstance(shape, Label)]
    assert [label.text for label in letters] == ["A", "B", "C"]
    assert [label.at[0] for label in letters] == [place.x for place in samples.POINT.places]


def test_a_figure_that_letters_its_places_itself_gets_no_second_letters():
    places = tuple(replace(place, name="ABC"[place.number - 1]) for place in samples.POINT.places)

    assert lettered(samples.FIGURE, places) == samples.FIGURE


def test_a_figure_without_places_stays_as_it_is():
    assert lettered(samples.FIGURE, ()) == samples.FIGURE


def test_letters_over_a_picture_are_as_wide_as_the_picture():
    scene = letters_over(
        (BANK.parent / "media" / "two-wheels.png").read_bytes(), samples.POINT.places
    )

    assert (scene.width, scene.height) == (600, 300)
    letters = [shape.text for shape in scene.shapes if isinstance(shape, Label)]
    assert letters == ["A", "B", "C"]
