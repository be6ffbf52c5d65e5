"""The SVG renderer writes every kind of shape as standing, safe, re-colourable markup."""

import pytest
from lxml import etree

from quizsvc.figures.palette import LIGHT, PRINT
from quizsvc.figures.scene import (
    Anchor,
    Arc,
    Arrow,
    Circle,
    Circles,
    Dash,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Style,
    Weight,
    at_clock,
)
from quizsvc.figures.svg import arrow_head, render_svg

SVG = {"s": "http://www.w3.org/2000/svg"}


def one(*shapes, alt="a picture") -> etree._Element:
    return etree.fromstring(render_svg(Scene(100, 80, shapes, alt)))


def test_the_picture_stands_alone_and_scales():
    tree = one()

    assert tree.get("viewBox") == "0 0 100 80"
    assert tree.get("class") == "figure"


def test_text_is_escaped_in_words_and_alternative_text():
    tree = one(Label((5, 5), 'a < b & "c"'), alt='say "x" & <y>')

    assert tree.get("aria-label") == 'say "x" & <y>'
    assert tree.findtext(".//s:text", namespaces=SVG) == 'a < b & "c"'


def test_a_decorative_picture_is_hidden_from_screen_readers():
    tree = etree.fromstring(render_svg(Scene(10, 10, (), "words"), decorative=True))

    assert tree.get("aria-hidden") == "true"
    assert tree.get("aria-label") is None
    assert tree.get("role") is None


def test_an_id_is_written_only_where_asked_for():
    named = etree.fromstring(render_svg(Scene(10, 10, (), "words"), id_prefix="bench"))

    assert named.get("id") == "bench-figure"
    assert one().get("id") is None


def test_neighbours_of_one_style_share_a_group():
    style = Style(Ink.ACCENT)
    shapes = (Circle((1, 1), 2, style), Circle((5, 5), 2, style), Circle((9, 9), 2))

    groups = one(*shapes).findall("s:g/s:g", namespaces=SVG)

    assert [len(group) for group in groups] == [2, 1]
    assert groups[0].get("class") == "s-accent"
    assert groups[0].get("stroke") == LIGHT[Ink.ACCENT]


def test_many_circles_are_each_written():
    tree = one(Circles(((1, 2), (3, 4), (5, 6)), 1.5, Style(Ink.NONE, Ink.LINE)))

    circles = tree.findall(".//s:circle", namespaces=SVG)

    assert [(c.get("cx"), c.get("cy")) for c in circles] == [
        ("1.0", "2.0"),
        ("3.0", "4.0"),
        ("5.0", "6.0"),
    ]


@pytest.mark.parametrize(
    ("start", "sweep", "flags"), [(0, 90, "0 1"), (0, 270, "1 1"), (90, -45, "0 0")]
)
def test_an_arc_runs_the_stated_way(start, sweep, flags):
    path = one(Arc((50, 40), 20, start, sweep)).find(".//s:g/s:g/s:path", namespaces=SVG).get("d")

    x, y = at_clock((50, 40), 20, start + sweep)
    assert path.endswith(f"0 {flags} {x:.1f} {y:.1f}")


def test_a_whole_turn_is_a_circle():
    assert one(Arc((50, 40), 20, 30, 360)).find(".//s:circle", namespaces=SVG) is not None


def test_dashes_and_weights_are_attributes():
    style = Style(Ink.LINE, weight=Weight.THICK, dash=Dash.DASHED)

    group = one(Polyline(((0, 0), (9, 9)), style)).find("s:g/s:g", namespaces=SVG)

    assert group.get("stroke-width") == "2.8"
    assert group.get("stroke-dasharray") == "6 4"
    assert group.get("fill") == "none"


def test_labels_keep_anchor_weight_and_halo():
    label = Label((5, 9), "TDC", 18, Anchor.END, bold=True, halo=True)

    text = one(label).find(".//s:text", namespaces=SVG)

    assert text.get("text-anchor") == "end"
    assert text.get("font-size") == "18"
    assert text.get("font-weight") == "bold"
    assert text.get("paint-order") == "stroke"


def test_an_arrow_ends_in_a_head_at_its_end():
    tree = one(Arrow((10, 10), (60, 10)))

    head = tree.find(".//s:polygon", namespaces=SVG).get("points").split()

    assert (float(head[0]), float(head[1])) == (60, 10)
    assert arrow_head((10, 10), (60, 10))[0] == (60, 10)


def test_closed_lines_are_polygons():
    assert one(Polyline(((0, 0), (1, 0), (1, 1)), closed=True)).find(
        ".//s:polygon", namespaces=SVG
    ) is not None  # fmt: skip


def test_separate_strokes_are_one_path():
    path = one(Lines((((0, 0), (1, 1)), ((2, 2), (3, 3))))).find(
        ".//s:g/s:g/s:path", namespaces=SVG
    )

    assert path.get("d").count("M") == 2


def test_another_palette_colours_it_for_print():
    svg = render_svg(Scene(10, 10, (Circle((5, 5), 2),), "x"), palette=PRINT)

    assert PRINT[Ink.LINE] in svg
    assert LIGHT[Ink.LINE] not in svg
