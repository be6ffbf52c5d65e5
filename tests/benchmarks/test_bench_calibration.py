"""Our calibration beside a reference library and published estimates; speed; a run resumed.

The reference is girth (MIT licence, by R. Sanchez), in an environment of its own:
    python -m venv DIR && DIR/bin/pip install girth
    QUIZSVC_GIRTH=DIR/bin/python pytest tests/benchmarks/test_bench_calibration.py -m benchmark -s
"""

from __future__ import annotations

import io
import json
import os
import subprocess
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from scoring.test_scoring_calibration import LSAT6

from quizsvc.scoring.abilities import chance_right
from quizsvc.scoring.calibration import calibrate_2pl

pytestmark = pytest.mark.benchmark
PUBLISHED_A = (0.8257, 0.7227, 0.8909, 0.6884, 0.6569)  # printed by the R package ltm
PUBLISHED_B = (-3.359, -1.370, -0.280, -1.866, -3.126)
REFERENCE = Path(__file__).with_name("reference_girth.py")


@pytest.fixture
def girth():
    found = os.environ.get("QUIZSVC_GIRTH")
    if not found:
        pytest.skip("QUIZSVC_GIRTH names no Python that has girth")

    def calibrate(matrix):
        text = io.StringIO()
        np.savetxt(text, matrix.T, fmt="%d")  # girth wants items × persons
        done = subprocess.run(  # noqa: S603 - named by whoever runs the benchmark
            [found, str(REFERENCE)],
            input=text.getvalue(),
            capture_output=True,
            text=True,
            check=True,
        )
        return json.loads(done.stdout)

    return calibrate


@pytest.fixture
def lsat6():
    words = LSAT6.split()
    pairs = zip(words[::2], words[1::2], strict=True)
    return np.array([[int(m) for m in p] for p, n in pairs for _ in range(int(n))], dtype=float)


def simulated(people, items, seed=3):
    chance = np.random.default_rng(seed)
    a, b = chance.lognormal(0, 0.25, items), chance.normal(size=items)
    right = chance_right(chance.normal(size=people), a, b) > chance.random((people, items))
    return right.astype(float), a, b


def test_lsat6_side_by_side(lsat6, girth):
    ours, theirs = calibrate_2pl(lsat6, tolerance=1e-6), girth(lsat6)

    print("\nLSAT6 (1,000 × 5)   ours a   girth a   published a     ours b   girth b  published b")  # noqa: T201
    for n in range(5):
        print(  # noqa: T201 - a benchmark is run to be read
            f"item {n + 1:<12}{ours.a[n]:9.4f} {theirs['a'][n]:9.4f} {PUBLISHED_A[n]:12.4f} "
            f"{ours.b[n]:11.3f} {theirs['b'][n]:9.3f} {PUBLISHED_B[n]:11.3f}"
        )
    assert ours.a == pytest.approx(PUBLISHED_A, abs=2e-3)
    assert theirs["a"] == pytest.approx(PUBLISHED_A, abs=0.03)


def test_a_simulated_test_side_by_side(girth):
    matrix, a, b = simulated(2000, 60)
    start = perf_counter()
    ours = calibrate_2pl(matrix)
    seconds = perf_counter() - start
    theirs = girth(matrix)

    print(  # noqa: T201 - a benchmark is run to be read
        f"\n2,000 × 60: ours {seconds:.2f} s, RMSE a {rmse(ours.a, a):.3f} "
        f"b {rmse(ours.b, b):.3f}; "
        f"girth {theirs['seconds']:.2f} s, RMSE a {rmse(theirs['a'], a):.3f} "
        f"b {rmse(theirs['b'], b):.3f}; apart b {rmse(ours.b, theirs['b']):.3f}"
    )
    assert rmse(ours.b, b) <= rmse(theirs["b"], b) * 1.1


def test_10_000_people_and_200_items_resumed_after_a_stop():
    matrix, _, b = simulated(10_000, 200)
    start = perf_counter()
    whole = calibrate_2pl(matrix)
    seconds = perf_counter() - start
    stopped = calibrate_2pl(matrix, max_rounds=4)
    resumed = calibrate_2pl(matrix, start=stopped)

    print(  # noqa: T201 - a benchmark is run to be read
        f"\n10,000 × 200: {seconds:.1f} s in {whole.rounds} rounds (aim 1.3 s), RMSE b "
        f"{rmse(whole.b, b):.3f}; stopped after 4 rounds and resumed: "
        f"{np.abs(resumed.b - whole.b).max():.1e} apart at most"
    )
    assert whole.settled
    assert np.abs(resumed.b - whole.b).max() < 5e-3


def rmse(found, true):
    return float(np.sqrt(np.mean((np.asarray(found) - np.asarray(true)) ** 2)))
