"""The motion of an engine on the bench over a whole cycle, as its page plays it."""

from __future__ import annotations

from functools import lru_cache

from quizsvc.figures import bench_cylinders, bench_traces
from quizsvc.services.bench_words import contact_words
from quizsvc.sheets.bench_columns import TURN, advances_of, chain_place, columns_of
from quizsvc.sheets.bench_state import KEPT, STEP_DEG, Setting, motion_of
from quizsvc.sheets.schema import Drive, EngineSheet
from quizsvc.sheets.state import layout_of
from quizsvc.timing.cycle import Stroke

HUNDREDTHS = 100  # columns go to the page as whole hundredths


@lru_cache(KEPT)
def motion_for_page(sheet: EngineSheet, setting: Setting) -> dict[str, object]:
    """Return the motion of the engine, so set, as plain values for the page's script.

    ``columns`` hold whole hundredths of mm or degrees, a row per ``step_deg`` of the crank.
    """
    table = motion_of(sheet, setting)
    return {
        "sheet": sheet.id,
        "revision": sheet.revision,
        "step_deg": STEP_DEG,
        "columns": {
            name: [round(value * HUNDREDTHS) for value in column]
            for name, column in columns_of(sheet, setting).items()
        },
        "wraps": TURN,
        "advances_deg": dict(advances_of(sheet, setting)),
        "chains": {drive.id: _chain(sheet, setting, drive) for drive in sheet.drives},
        "contacts": [
            {
                "name": bench_cylinders.contact_name(contact.cylinder, contact.valve),
                "from_deg": round(contact.from_deg, 2),
                "to_deg": round(contact.to_deg, 2),
                "words": contact_words(contact, "{angle}"),
            }
            for contact in table.contacts
        ],
        "signals": bench_traces.signal_paths(sheet, table.signals),
        "strokes": [stroke.value for stroke in Stroke],
        "firing_deg": {str(c): deg for c, deg in layout_of(sheet).firing_deg.items()},
    }


def _chain(sheet: EngineSheet, setting: Setting, drive: Drive) -> dict[str, object]:
    place = chain_place(sheet, setting, drive)
    return {
        "off": place.off,
        "runs": place.runs,
        "pitches": round(place.pitches, 4),
        "per_cycle": place.per_cycle,
    }
