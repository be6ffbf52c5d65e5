"""Figures per second on one core: SVG, PNG, and a bare Pillow loop of the same shapes beside it.

Processor time, so that whoever else works on the machine counts less; figure and bare loop take
turns, and only the ratios of one run mean something. Run by name:
pytest tests/benchmarks/test_bench_figures.py -s
"""

from io import BytesIO
from itertools import count, islice
from statistics import median
from time import process_time

import pytest
from PIL import Image, ImageDraw

from quizsvc.figures import cylinder_phases, event_circle, firing_row, sprocket_pair
from quizsvc.figures.raster import LEVEL, render_png
from quizsvc.figures.svg import render_svg
from quizsvc.timing.crank import SliderCrank

pytestmark = pytest.mark.benchmark
ROUNDS, BATCH = 9, 20
SLIDER = SliderCrank(86, 143)
STROKES = ("power", "exhaust", "intake", "compression")


def pairs():
    """Sprocket pairs that all differ, so that no layout is drawn from memory."""
    for number in count():
        mark = 20 + (number * 7) % 300 / 10
        crank = sprocket_pair.Sprocket("crankshaft", 18, 160 + number % 20 + number / 1e5)
        camshaft = sprocket_pair.Sprocket("camshaft", 36, mark)
        yield sprocket_pair, sprocket_pair.SprocketPair(crank, camshaft, 24 + number % 14)


def phases():
    for number in count():
        turned = [(number * 7.3 + 180 * place) % 720 for place in range(4)]
        rows = tuple(
            cylinder_phases.Phase(place + 1, SLIDER.drop_mm(d), STROKES[int(d // 180)], shown=True)
            for place, d in enumerate(turned)
        )
        yield cylinder_phases, cylinder_phases.CylinderPhases(rows, 86, "Crankshaft somewhere.")


def circles():
    for number in count():
        yield event_circle, event_circle.EventCircle(10 + number % 20, 60, 55, 15, span="overlap")


def firing():
    for number in count():
        order = ((1, 3, 4, 2), (1, 5, 3, 6, 2, 4))[number % 2]
        yield firing_row, firing_row.FiringRow(order, order[number % 4], "next")


KINDS = {"sprocket pair": pairs, "cylinders": phases, "event circle": circles, "row": firing}


def bare_loop(scenes) -> None:
    """Draw as many ellipses and lines, no words, with nothing but Pillow, its fastest palette."""
    for scene in scenes:
        size = (int(scene.width * 2), int(scene.height * 2))
        picture = Image.new("RGB", size, "#fbfaf6")
        pen = ImageDraw.Draw(picture)
        for shape in scene.shapes:
            if hasattr(shape, "centres"):
                for x, y in shape.centres:
                    pen.ellipse((2 * x - 8, 2 * y - 8, 2 * x + 8, 2 * y + 8), "#ffffff", "#000000")
            elif hasattr(shape, "points"):
                pen.line([(2 * x, 2 * y) for x, y in shape.points], "#000000", 3)
            elif hasattr(shape, "strokes"):
                for stroke in shape.strokes:
                    pen.line([(2 * x, 2 * y) for x, y in stroke], "#000000", 1)
            elif hasattr(shape, "radius"):
                x, y, r = *shape.centre, shape.radius
                pen.ellipse((2 * (x - r), 2 * (y - r), 2 * (x + r), 2 * (y + r)), None, "#000000")
        flat = picture.reduce(2).quantize(64, Image.Quantize.FASTOCTREE)
        flat.save(BytesIO(), "PNG", compress_level=LEVEL)


def seconds_per(work, things) -> float:
    start = process_time()
    work(things)
    return (process_time() - start) / len(things)


def draw_all(states):
    return [module.draw(state) for module, state in states]


def draw_and_write(states):
    for module, state in states:
        render_svg(module.draw(state))


def draw_and_paint(states):
    for module, state in states:
        render_png(module.draw(state))


@pytest.mark.parametrize("kind", KINDS)
def test_figures_per_second(kind):
    stream = KINDS[kind]()
    times: dict[str, list[float]] = {"draw": [], "svg": [], "png": [], "bare": []}

    for _ in range(ROUNDS):
        times["draw"].append(seconds_per(draw_all, list(islice(stream, BATCH))))
        times["svg"].append(seconds_per(draw_and_write, list(islice(stream, BATCH))))
        states = list(islice(stream, BATCH))
        times["png"].append(seconds_per(draw_and_paint, states))
        times["bare"].append(seconds_per(bare_loop, draw_all(states)))

    each = {name: median(values) for name, values in times.items()}
    print(  # noqa: T201 - a benchmark is run to be read
        f"\n{kind}: scenes {1 / each['draw']:.0f}/s, with SVG {1 / each['svg']:.0f}/s, "
        f"with PNG {1 / each['png']:.0f}/s; bare Pillow loop {1 / each['bare']:.0f}/s; "
        f"PNG / bare loop {each['bare'] / each['png']:.2f}, PNG / SVG time "
        f"{each['png'] / each['svg']:.1f}"
    )
    assert all(seconds > 0 for seconds in each.values())
