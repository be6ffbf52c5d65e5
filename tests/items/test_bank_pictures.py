"""The pictures in media/ are what the scenes draw, and carry the scenes' own words."""

from io import BytesIO
from itertools import pairwise
from math import hypot

import pytest
from PIL import Image, ImageChops

from quizsvc.figures.lettering import box
from quizsvc.figures.raster import render_png
from quizsvc.figures.scene import Circle, Label, Polyline
from quizsvc.figures.stills import slack_in_the_drive, tensioner_cutaway
from quizsvc.figures.stills.album import SCALE, STILLS, write_stills
from quizsvc.figures.stills.signal_traces import SEEN_TOOTH, STATED_TOOTH
from quizsvc.items.banks.loading import MEDIA, shipped_banks

PICTURED = [
    entry for bank in shipped_banks().values() for entry in bank.entries if entry.written.picture
]


def pixels(source):
    with Image.open(source) as picture:
        return picture.convert("RGB")


@pytest.mark.parametrize("name", STILLS)
def test_a_picture_in_media_is_what_its_scene_draws(name):
    drawn = pixels(BytesIO(render_png(STILLS[name](), SCALE)))
    kept = pixels(MEDIA / name)

    # Another version of the type renderer may shade the edges of letters a little differently.
    assert drawn.size == kept.size
    difference = ImageChops.difference(drawn, kept).convert("L").histogram()
    assert sum(count for level, count in enumerate(difference) if level > 48) < 400


def test_drawing_twice_gives_the_same_bytes(tmp_path):
    first = write_stills(tmp_path)

    assert len(first) == len(STILLS)
    assert write_stills(tmp_path) == []


def test_no_picture_lies_in_media_that_nothing_draws_or_shows():
    files = {path.name for path in MEDIA.glob("*.png")}
    shown = {entry.written.picture for entry in PICTURED}

    assert files == set(STILLS) == shown


@pytest.mark.parametrize("entry", PICTURED, ids=lambda entry: entry.id)
def test_an_items_picture_text_is_the_scenes_own(entry):
    assert entry.written.picture_alt == STILLS[entry.written.picture]().alt


@pytest.mark.parametrize("name", STILLS)
def test_words_stay_inside_the_picture_and_large_enough_for_a_phone(name):
    scene = STILLS[name]()

    # 480 units shown 358 pixels wide: 15 units are 11 pixels.
    for label in (shape for shape in scene.shapes if isinstance(shape, Label)):
        left, top, right, bottom = box(label)
        assert label.size >= 15
        assert 0 <= left < right <= scene.width, label.text
        assert 0 <= top < bottom <= scene.height, label.text


@pytest.mark.parametrize("name", STILLS)
def test_words_do_not_lie_over_one_another(name):
    boxes = [box(shape) for shape in STILLS[name]().shapes if isinstance(shape, Label)]

    for number, (left, top, right, bottom) in enumerate(boxes):
        for other_left, other_top, other_right, other_bottom in boxes[:number]:
            apart = left >= other_right or other_left >= right
            assert apart or top >= other_bottom or other_top >= bottom


def test_the_trace_shows_the_cam_edge_as_late_as_its_item_says():
    bank = shipped_banks()["cam-and-crank-sensors"]

    answer = bank.entry("cam-edge-late").written.answer

    assert answer.value == 10 * (SEEN_TOOTH - STATED_TOOTH)


def test_the_readable_state_has_its_slack_on_the_left_where_the_plunger_is():
    guides = [
        shape.points
        for shape in slack_in_the_drive.reading().shapes
        if getattr(shape, "name", "") == "movable guide"
    ]

    # Guide points 0 to 16 run along the chain; a straight one has its middle on the line.
    first, second = (abs(g[8][0] - (g[0][0] + g[16][0]) / 2) for g in guides)
    assert first > 5
    assert second < 1


def right_places(bank, item):
    """Return centre and radius, in picture units, of the places that are right."""
    places = shipped_banks()[bank].entry(item).written.places
    return [
        ((place.at[0] / SCALE, place.at[1] / SCALE), place.radius / SCALE)
        for place in places
        if place.correct
    ]


def reaches(shape, place):
    """Say whether the middle of the place lies within its radius of the shape's surroundings."""
    (x, y), radius = place
    if isinstance(shape, Circle):
        (cx, cy), reach = shape.centre, shape.radius
        return hypot(x - cx, y - cy) <= reach + radius
    xs, ys = zip(*shape.points, strict=True)
    away = (max(min(xs) - x, 0, x - max(xs)), max(min(ys) - y, 0, y - max(ys)))
    return hypot(*away) <= radius


@pytest.mark.parametrize(
    ("bank", "item", "picture", "parts"),
    [
        ("tensioners", "point-what-holds-at-start", "tensioner-section.png", [{"pawl"}]),
        ("tensioners", "point-what-leaks", "tensioner-section.png", [{"ball"}]),
        ("cooling", "point-first-wet", "pump-section.png", [{"drilling"}]),
        (
            "seals-and-gaskets",
            "corner-in-picture",
            "gasket-corner.png",
            [{"head gasket", "cover gasket"}, {"cam cover gasket", "cover gasket"}],
        ),
    ],
)
def test_the_right_places_are_on_the_parts_that_the_key_means(bank, item, picture, parts):
    shapes = [shape for shape in STILLS[picture]().shapes if isinstance(shape, Circle | Polyline)]

    for place, names in zip(right_places(bank, item), parts, strict=True):
        touched = {shape.name for shape in shapes if reaches(shape, place)}
        assert names <= touched


def test_the_right_place_for_the_air_hole_is_the_highest():
    places = shipped_banks()["cooling"].entry("jiggle-pin-up").written.places

    assert min(places, key=lambda place: place.at[1]).correct


def test_the_ratchet_lets_the_plunger_out_and_not_in():
    shapes = {getattr(shape, "name", ""): shape for shape in tensioner_cutaway.plain().shapes}
    tip = max(shapes["pawl"].points, key=lambda point: point[1])

    # A plunger that goes in moves to the left: right of the tip stands a steep flank.
    edges = pairwise(shapes["plunger"].points)
    steep = [a[0] for a, b in edges if a[0] == b[0] and a[1] != b[1] and 0 <= a[0] - tip[0] < 3]
    assert steep
