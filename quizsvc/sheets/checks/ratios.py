"""Who turns whom: every camshaft at half speed, every lobe on a camshaft."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from quizsvc.errors import NotFoundError
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import EngineSheet, Shaft, ShaftKind
from quizsvc.sheets.sound import Sound
from quizsvc.sheets.state import (
    cam_for,
    driven_turns,
    shaft_turns,
    stages_to,
    turned_by_back,
    wheel_of,
)
from quizsvc.sheets.valve_state import VALVES

HALF = Fraction(1, 2)


def check_ratios(sound: Sound) -> Iterator[Finding]:
    for index, shaft in enumerate(sound.sheet.shafts):
        yield from _turning(sound.sheet, index, shaft)
    yield from _driven_twice(sound.sheet)
    yield from _lobes(sound.sheet)


def _turning(sheet: EngineSheet, index: int, shaft: Shaft) -> Iterator[Finding]:
    turns = shaft_turns(sheet).get(shaft.id)
    if turns is None and turned_by_back(sheet, shaft):
        return  # by friction: near enough for a pump, of no exact ratio
    if turns is None:
        yield error(
            ("shafts", index, "id"),
            shaft.id,
            "no chain of drives from the crankshaft turns it.",
            "Put a wheel of it on a drive whose driver turns.",
        )
    elif shaft.kind is ShaftKind.CAM and abs(turns) != HALF:
        teeth = ", ".join(
            f"{driving} to {driven}" for driving, driven in stages_to(sheet, shaft.id)
        )
        yield error(
            ("shafts", index, "id"),
            shaft.id,
            f"it turns {turns} times per crank turn ({teeth} teeth); a camshaft of a four-stroke "
            "engine turns exactly half as fast as the crank.",
            "Correct the teeth: the stages together must give 2:1.",
        )
    elif shaft.kind is ShaftKind.CAM and turns < 0:
        yield warning(
            ("shafts", index, "id"),
            shaft.id,
            "it turns against the crankshaft.",
            "Right only where its wheel runs on the back of the chain or belt; check contact.",
        )


def _driven_twice(sheet: EngineSheet) -> Iterator[Finding]:
    turns = shaft_turns(sheet)
    for index, drive in enumerate(sheet.drives):
        if wheel_of(drive, drive.driver).shaft not in turns:
            continue
        for shaft_id, ratio in driven_turns(drive, turns).items():
            if ratio != turns[shaft_id]:
                yield error(
                    ("drives", index, "wheels"),
                    shaft_id,
                    f"this drive turns {shaft_id} {ratio} times per crank turn, another one "
                    f"{turns[shaft_id]} times.",
                    "Two drives of one shaft must agree; check the teeth.",
                )


def _lobes(sheet: EngineSheet) -> Iterator[Finding]:
    missing = [
        f"{valve} of cylinder {cylinder.number}"
        for cylinder in sheet.layout.cylinders
        for valve in VALVES
        if not _has_cam(sheet, cylinder.number, valve)
    ]
    if missing:
        yield error(
            ("shafts",),
            [shaft.id for shaft in sheet.shafts if shaft.kind is ShaftKind.CAM],
            f"no camshaft carries the lobe for: {', '.join(missing)}.",
            "State bank and carries of each camshaft.",
        )


def _has_cam(sheet: EngineSheet, cylinder: int, valve: str) -> bool:
    try:
        cam_for(sheet, cylinder, valve)  # type: ignore[arg-type]
    except NotFoundError:
        return False
    return True
