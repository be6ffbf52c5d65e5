"""Time of the full 720° motion table, and how it grows with cylinders. Read, not judged.

Run by name: pytest tests/benchmarks/test_bench_motion.py -s
"""

import json
from statistics import median
from time import process_time

import pytest

from quizsvc.services.bench_motion import motion_for_page
from quizsvc.sheets.bench_columns import columns_of
from quizsvc.sheets.bench_state import Setting, motion_of
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.sheets.valve_state import VALVES, valve_room_of
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import inline_layout
from quizsvc.timing.motion import CamShaft, motion_table

pytestmark = pytest.mark.benchmark
ROUNDS = 9
ORDERS = {3: (1, 3, 2), 4: (1, 3, 4, 2), 5: (1, 2, 4, 5, 3), 6: (1, 5, 3, 6, 2, 4)}
ORDERS[8] = (1, 6, 2, 5, 8, 3, 7, 4)


def milliseconds(work):
    times = []
    for _ in range(ROUNDS):
        start = process_time()
        work()
        times.append(1000 * (process_time() - start))
    return median(times)


@pytest.mark.parametrize("name", sorted(shipped_sheets()))
def test_the_motion_table_of_a_shipped_sheet(name):
    sheet = shipped_sheets()[name]
    slipped = Setting(((sheet.drives[0].id, 2),))

    table = milliseconds(lambda: motion_of.__wrapped__(sheet, slipped))
    columns = milliseconds(lambda: columns_of.__wrapped__(sheet, slipped))
    written = milliseconds(lambda: json.dumps(motion_for_page.__wrapped__(sheet, slipped)))
    size = len(json.dumps(motion_for_page(sheet, slipped)))

    cylinders = len(sheet.layout.cylinders)
    print(  # noqa: T201 - a benchmark is run to be read
        f"\n{name}: {cylinders} cylinders, full 720° table at 1° {table:.1f} ms (aim < 150 ms), "
        f"named columns {columns:.1f} ms, JSON {written:.1f} ms of {size / 1000:.0f} kB"
    )
    assert len(motion_of(sheet, slipped).crank_deg) == 720


def test_growth_with_cylinders():
    sheet = shipped_sheets()["demo-inline-four"]
    rooms = tuple(valve_room_of(sheet, valve) for valve in VALVES)
    slider = SliderCrank(86, 143)
    found = []
    for cylinders, order in ORDERS.items():
        cam = CamShaft("cam", tuple(range(1, cylinders + 1)), rooms, 20.0)
        layout = inline_layout(order)
        found.append((cylinders, milliseconds(lambda: motion_table(layout, slider, [cam]))))  # noqa: B023 - called at once

    words = ", ".join(f"{cylinders}: {ms:.1f} ms" for cylinders, ms in found)
    per_cylinder = [ms / cylinders for cylinders, ms in found]
    print(  # noqa: T201 - a benchmark is run to be read
        f"\ntable by cylinders, both cams, 1°: {words}; per cylinder {min(per_cylinder):.2f} to "
        f"{max(per_cylinder):.2f} ms"
    )
    assert all(ms > 0 for _, ms in found)
