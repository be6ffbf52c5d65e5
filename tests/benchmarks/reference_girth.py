"""Calibrate by girth, run by a Python of its own that has it; prints JSON (a, b, seconds)."""

import json
import sys
from time import perf_counter

import numpy as np
from girth import twopl_mml

data = np.loadtxt(sys.stdin, dtype=int)
start = perf_counter()
found = twopl_mml(data)
seconds = perf_counter() - start
a, b = np.atleast_1d(found["Discrimination"]), found["Difficulty"]
print(json.dumps({"a": a.tolist(), "b": b.tolist(), "seconds": seconds}))  # noqa: T201
