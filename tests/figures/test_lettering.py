"""Words are measured with the typeface that ships with the figures."""

import pytest
from scene_reading import overlapping_labels

from quizsvc.figures import parts, placing
from quizsvc.figures.lettering import FONTS, box, font, text_width
from quizsvc.figures.scene import Anchor, Label, Lines, Scene


def test_the_typeface_ships_with_its_licence():
    assert (FONTS / "DejaVuSans.ttf").stat().st_size > 100_000
    assert "Bitstream Vera" in (FONTS / "LICENCE-DejaVu.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("text", ["compression", "36 teeth", "−12.5° BTDC", "N·m", "Ø 105 mm"])
@pytest.mark.parametrize("bold", [False, True])
def test_widths_are_those_of_the_drawn_words(text, bold):
    drawn = font(200, bold=bold).getlength(text) / 200 * 16

    assert text_width(text, 16, bold=bold) == pytest.approx(drawn, rel=0.02)


def test_figures_are_tabular():
    assert len({text_width(digit, 16) for digit in "0123456789"}) == 1


@pytest.mark.parametrize(
    ("anchor", "left"), [(Anchor.START, 100), (Anchor.MIDDLE, 100), (Anchor.END, 100)]
)
def test_a_box_hangs_from_its_anchor(anchor, left):
    width = text_width("TDC", 16)

    found = box(Label((left, 50), "TDC", anchor=anchor))

    shift = {Anchor.START: 0, Anchor.MIDDLE: width / 2, Anchor.END: width}[anchor]
    assert found[0] == pytest.approx(left - shift)
    assert found[2] - found[0] == pytest.approx(width)
    assert found[1] < 50 < found[3]


def test_lines_are_broken_at_the_width():
    lines = parts.wrapped("the chain runs clockwise seen from the chain end", 120)

    assert " ".join(lines) == "the chain runs clockwise seen from the chain end"
    assert all(text_width(line, parts.TEXT) <= 120 for line in lines)


def test_a_label_at_the_edge_is_moved_onto_the_paper():
    label = parts.on_paper(Label((476, 20), "injection pump", bold=True))

    assert box(label)[2] <= parts.WIDTH - 4 + 1e-9
    untouched = Label((240, 20), "pump")
    assert parts.on_paper(untouched) is untouched


def test_names_find_room_off_each_other_off_things_and_off_dots():
    things = [
        placing.Named(("intake camshaft", "36 teeth"), (170, 120), 60),
        placing.Named(("exhaust camshaft", "36 teeth"), (310, 120), 60),
        placing.Named(("crankshaft", "18 teeth"), (240, 330), 30),
    ]
    dots = [(240 - 60 + step, 200) for step in range(0, 120, 10)]

    shapes = placing.named(things, (0, 0, 480, 400), dots=dots)

    labels = [shape for shape in shapes if isinstance(shape, Label)]
    assert len(labels) == 6
    assert overlapping_labels(Scene(480, 400, tuple(labels), "")) == []
    for label in labels:
        left, top, right, bottom = box(label)
        assert left >= 0
        assert right <= 480
        assert not any(left < x < right and top < y < bottom for x, y in dots)


def test_a_crowded_name_stands_off_with_a_leader():
    thing = placing.Named(("tensioner",), (240, 200), 10)
    crowd = [(240 + x, 200 + y) for x in range(-100, 101, 6) for y in range(-34, 35, 6)]

    shapes = placing.named([thing], (0, 0, 480, 400), dots=crowd)

    assert any(isinstance(shape, Lines) for shape in shapes)
