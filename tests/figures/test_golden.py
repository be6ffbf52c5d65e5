"""Pictures look as they did when they were last looked at by eye.

To renew them after a wanted change: QUIZSVC_RENEW_GOLDEN=1 pytest tests/figures/test_golden.py,
then look at each before committing it.
"""

import os
import subprocess
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sample_figures import BELT, SAMPLES

from quizsvc.figures import drive_view
from quizsvc.figures.raster import render_png
from quizsvc.figures.svg import render_svg

GOLDEN = Path(__file__).parent / "golden"
CHROMIUM = Path("/usr/bin/chromium")
WIDTH = 240  # small, so that the folder stays small
# Mean absolute difference of grey levels (0 to 255) of blocks of pixels. Words printed half a pixel
# off give up to 0.2, a missing number 0.13 to 3, a line elsewhere more.
TOLERANCE = 0.3
BROWSER_TOLERANCE = 3.5
NAMES = {module.__name__.rsplit(".", 1)[1]: states[-1] for module, states in SAMPLES.items()}
MODULES = {module.__name__.rsplit(".", 1)[1]: module for module in SAMPLES}
NAMES["belt_drive"], MODULES["belt_drive"] = BELT, drive_view


def grey(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(png)).convert("L"), dtype=float)


def coarse(levels: np.ndarray) -> np.ndarray:
    """Average blocks of 4 × 4 pixels: what is left are shapes, not how edges are smoothed."""
    rows, columns = (size // 4 * 4 for size in levels.shape)
    return levels[:rows, :columns].reshape(rows // 4, 4, columns // 4, 4).mean(axis=(1, 3))


def apart(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.abs(coarse(one) - coarse(other)).mean())


def picture(name: str) -> bytes:
    scene = MODULES[name].draw(NAMES[name], solution=True)
    return render_png(scene, WIDTH / scene.width)


@pytest.mark.parametrize("name", NAMES)
def test_the_picture_is_the_one_that_was_looked_at(name):
    drawn, kept = picture(name), GOLDEN / f"{name}.png"
    if os.environ.get("QUIZSVC_RENEW_GOLDEN"):
        kept.write_bytes(drawn)

    golden = grey(kept.read_bytes())

    assert grey(drawn).shape == golden.shape
    assert apart(grey(drawn), golden) < TOLERANCE


@pytest.mark.parametrize(
    "name", ["sprocket_pair", "elongation", "event_circle", "degree_wheel", "belt_drive"]
)
def test_a_missing_solution_would_be_noticed(name):
    asked = MODULES[name].draw(NAMES[name])

    other = render_png(asked, WIDTH / asked.width)

    assert apart(grey(other), grey(picture(name))) > TOLERANCE


@pytest.mark.browser
@pytest.mark.skipif(not CHROMIUM.exists(), reason="needs Debian's Chromium")
def test_a_browser_shows_the_svg_as_the_raster_renderer_draws_it(tmp_path):
    scenes = {name: MODULES[name].draw(NAMES[name], solution=True) for name in NAMES}
    width = 480  # natural size: below it line widths are rounded differently
    tops, top = {}, 0
    parts = []
    for name, scene in scenes.items():
        high = round(scene.height * width / scene.width)
        tops[name] = (top, high)
        top += high
        svg = render_svg(scene, decorative=True)
        parts.append(f'<div class="one" data-high="{high}">{svg}</div>')
    sizes = "".join(
        f".one:nth-child({n}){{height:{high}px}}" for n, (_, high) in enumerate(tops.values(), 1)
    )
    page = tmp_path / "page.html"
    page.write_text(
        f"<meta charset=utf-8><style>body{{margin:0}}svg{{width:{width}px;height:100%;"
        f"display:block}}{sizes}</style>{''.join(parts)}",
        encoding="utf-8",
    )
    shot = tmp_path / "shot.png"

    subprocess.run(  # noqa: S603 - a fixed command on a file of our own
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
         f"--screenshot={shot}", f"--window-size={width},{top}", page.as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip

    seen = np.asarray(Image.open(shot).convert("L"), dtype=float)
    for name, (start, high) in tops.items():
        drawn = grey(render_png(scenes[name], width / scenes[name].width))
        rows = min(high, drawn.shape[0])
        shown = seen[start : start + rows, :width]
        difference = apart(shown, drawn[:rows])
        # Letters are fitted to pixels differently by each; shapes 3 pixels off give 4 and more.
        assert difference < BROWSER_TOLERANCE, name
