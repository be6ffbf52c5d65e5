"""The pictures in media/ are what the scenes draw, and carry the scenes' own words."""

from io import BytesIO

import pytest
from PIL import Image, ImageChops

from quizsvc.figures.lettering import box
from quizsvc.figures.raster import render_png
from quizsvc.figures.scene import Label
from quizsvc.figures.stills import slack_in_the_drive
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
