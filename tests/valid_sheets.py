"""Engine sheets for tests: shipped ones, edited ones, and random valid ones.

`edited` states only what a test is about; everything else of the sheet stays valid.
`valid_sheets()` draws engines of three to eight cylinders, inline and vee, one or two
camshafts a bank, either rotation, whose check finds no error.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from copy import deepcopy
from itertools import pairwise
from typing import Any

from hypothesis import strategies as st

from quizsvc.sheets.loading import engines_folder, shipped_sheets
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.valve_state import can_touch, customary_gap_mm, least_gap_of
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.cycle import CylinderLayout, inline_layout, vee_layout
from quizsvc.timing.path import DrivePath, PathWheel

INLINE_FOUR, VEE_SIX, VEE_EIGHT = "demo-inline-four", "demo-vee-six", "demo-vee-eight"
BELT_THREE = "demo-inline-three"  # the one with a toothed belt
CHAIN_DRIVEN = (INLINE_FOUR, VEE_SIX, VEE_EIGHT)
SHIPPED = (INLINE_FOUR, BELT_THREE, VEE_SIX, VEE_EIGHT)


def shipped(name: str = INLINE_FOUR) -> EngineSheet:
    return shipped_sheets()[name]


def shipped_text(name: str = INLINE_FOUR) -> str:
    return (engines_folder() / f"{name}.toml").read_text(encoding="utf-8")


def edited(sheet: EngineSheet | str = INLINE_FOUR, /, **changes: Any) -> EngineSheet:
    """Return the sheet with values changed; ``a__0__b`` names a.0.b.

    A value of `REMOVED` takes the key or list member away.
    """
    start = shipped(sheet) if isinstance(sheet, str) else sheet
    content = deepcopy(start.model_dump(mode="json"))
    for name, value in changes.items():
        *way, last = (int(part) if part.isdigit() else part for part in name.split("__"))
        table = content
        for part in way:
            table = table[part]
        if value is REMOVED:
            del table[last]
        else:
            table[last] = value
    return EngineSheet.model_validate(content)


REMOVED = object()


# --- random valid sheets -----------------------------------------------------------------

_PITCHES = (6.35, 8.0, 9.525)
Along = Callable[[int, float], float]  # pitches to a direction on a wheel
_TAIL_KEYS = ("sensors", "fasteners", "pulleys", "accessory_belt", "cautions", "damper_diameter_mm")


@st.composite
def valid_sheets(draw: st.DrawFn) -> EngineSheet:
    """Draw an engine sheet whose check finds no error."""
    vee = draw(st.booleans())
    content = draw(_vee_engines() if vee else _inline_engines())
    content |= draw(_pistons_and_valves())
    sheet = _with_room(EngineSheet.model_validate(content))
    return _mirrored(sheet) if draw(st.booleans()) else sheet


@st.composite
def belt_sheets(draw: st.DrawFn) -> EngineSheet:
    """Draw an inline engine with a toothed belt whose check finds no error.

    Apart from `valid_sheets`, since most families ask about chains.
    """
    content = draw(_inline_engines(kind="belt")) | draw(_pistons_and_valves())
    return _with_room(EngineSheet.model_validate(content))


@st.composite
def _inline_engines(draw: st.DrawFn, kind: str = "chain") -> dict[str, Any]:
    cylinders = draw(st.integers(3, 6))
    order = (1, *draw(st.permutations(range(2, cylinders + 1))))
    layout = inline_layout(order)
    twin = draw(st.booleans())
    pitch, teeth = draw(st.sampled_from(_PITCHES)), draw(st.integers(16, 24))
    radius = _radius_mm(kind, pitch, 2 * teeth)
    apart = math.ceil(2 * radius / pitch) + draw(st.integers(1, 4))
    reach = draw(st.floats(200, 380)) + radius
    cams = [(-apart * pitch / 2, 0.0), (apart * pitch / 2, 0.0)] if twin else [(0.0, 0.0)]
    names = ["intake", "exhaust"] if twin else ["cam"]
    drive = _main_drive(
        pitch, teeth, reach, cams, names, [0.0] * len(cams), lean=(0.0, 1.0), kind=kind
    )
    shafts = [_shaft(n, [n] if twin else ["intake", "exhaust"], "a") for n in names]
    crank = draw(st.sampled_from([0.0, 360.0]))
    return _engine(layout, ("a",), [0.0], [_crank(), *shafts], [drive], crank)


@st.composite
def _vee_engines(draw: st.DrawFn) -> dict[str, Any]:
    cylinders = draw(st.sampled_from([6, 8]))
    bank_angle = draw(st.sampled_from([60.0, 75.0, 90.0]))
    order = (1, *draw(st.permutations(range(2, cylinders + 1))))
    layout = vee_layout(order, bank_angle, range(2, cylinders + 1, 2))
    pitch, teeth = draw(st.sampled_from(_PITCHES)), draw(st.integers(16, 22))
    small = draw(st.sampled_from([20, 22, 24, 26]))
    reach, half = draw(st.floats(300, 400)), bank_angle / 2
    apart = pitch * (math.ceil(pitch_diameter_mm(pitch, small) / pitch) + draw(st.integers(2, 4)))
    sine, cosine = math.sin(math.radians(half)), math.cos(math.radians(half))
    # Intake camshafts on the valley side; the primary chain runs over both of them.
    offsets = [(apart / 2 * cosine, apart / 2 * sine), (-apart / 2 * cosine, apart / 2 * sine)]
    names = ["intake-a", "intake-b"]
    primary = _main_drive(pitch, teeth, reach, offsets, names, [-half, half], lean=(sine, cosine))
    shafts = [_crank()]
    drives = [primary]
    for bank, sign in (("a", -1), ("b", 1)):
        wheel = next(w for w in primary["wheels"] if w["id"] == f"intake-{bank}")
        drives.append(_secondary(bank, sign, pitch, small, wheel, apart, half))
        shafts += [_shaft(f"{kind}-{bank}", [kind], bank) for kind in ("intake", "exhaust")]
    crank = draw(st.sampled_from([0.0, 360.0]))
    return _engine(layout, ("a", "b"), [-half, half], shafts, drives, crank)


def _main_drive(
    pitch: float,
    teeth: int,
    reach: float,
    offsets: list[tuple[float, float]],
    names: list[str],
    marks: list[float],
    *,
    lean: tuple[float, float],
    kind: str = "chain",
) -> dict[str, Any]:
    """Lay a chain from the crank over cams, moving them out until it takes an even whole number.

    ``lean`` is the direction (sine, cosine) of the banks; the first cam of two stands on the
    other side.
    """
    small, large = _radius_mm(kind, pitch, teeth), _radius_mm(kind, pitch, 2 * teeth)

    def wheels(out: float) -> list[PathWheel]:
        crank = PathWheel(0, 0, small)
        signs = [-1, 1] if len(offsets) == 2 else [1]
        cams = [
            PathWheel(sign * lean[0] * out + x, lean[1] * out + y, large)
            for sign, (x, y) in zip(signs, offsets, strict=True)
        ]
        shoe = _shoe(crank, cams[0], 120.0, 6.0)
        guide = _shoe(cams[-1], crank, 600.0, 2.0)
        return [crank, shoe, *cams, guide]

    def pitches(out: float) -> float:
        path = DrivePath(tuple(wheels(out)))
        return path.belt_pitches(pitch) if kind == "belt" else path.pitches(pitch)

    pins = 2 * math.ceil(pitches(reach) / 2 + 1e-6)
    laid = wheels(_solved(pitches, pins, reach, reach + 3 * pitch))
    path = DrivePath(tuple(laid))

    def along(index: int, at_deg: float) -> float:
        if kind == "belt":
            return path.distance_of(index, at_deg) / pitch
        return path.pitches_to(index, at_deg, pitch)

    tables = _wheel_tables(path, along, teeth, names, marks)
    return {
        "id": "timing",
        "title": "Timing chain",
        "kind": kind,
        "pitch_mm": pitch,
        "pins": pins,
        "driver": "crank-wheel",
        "elongation_limit_percent": 0.3,
        "wheels": tables,
        "tensioner": {
            "kind": "hydraulic",
            "wheel": "shoe",
            "extension_new_mm": 4.0,
            "groove_at_mm": 12.0,
            "longest_mm": 40.0,
        },
        "mark_pins": _mark_pins(along, pins, tables),
    }


def _wheel_tables(
    path: DrivePath, along: Along, teeth: int, names: list[str], marks: list[float]
) -> list[dict[str, Any]]:
    """Return the wheels with marks: the first cam's near its wish, all others at a pin of it."""
    crank, shoe, *cams, guide = path.wheels
    first_deg = _inside_wrap(path, 2, marks[0])
    first = along(2, first_deg)
    tables = [
        _wheel("crank-wheel", "sprocket", crank, shaft="crank", teeth=teeth)
        | {"mark": _mark(_at_pin(path, along, 0, teeth, first))},
        _wheel("shoe", "tensioner", shoe),
    ]
    for i, (name, cam) in enumerate(zip(names, cams, strict=True)):
        at = first_deg if i == 0 else _at_pin(path, along, 2 + i, 2 * teeth, first)
        tables.append(
            _wheel(name, "sprocket", cam, shaft=name, teeth=2 * teeth) | {"mark": _mark(at)}
        )
    tables.append(_wheel("guide", "guide", guide))
    return tables


def _mark_pins(along: Along, pins: int, tables: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the counts from each mark to the next, once round."""
    at = {
        table["id"]: along(index, table["mark"]["at_deg"])
        for index, table in enumerate(tables)
        if "mark" in table
    }
    names = [*at, next(iter(at))]
    return [
        {"from_wheel": one, "to_wheel": two, "pins": round((at[two] - at[one]) % pins)}
        for one, two in pairwise(names)
    ]


def _inside_wrap(path: DrivePath, index: int, wish_deg: float) -> float:
    """Return the wished direction if the chain lies there with room to spare, else the middle."""
    arc = path.arcs[index]
    past = (wish_deg - arc.start_deg) % 360
    if 1.0 < past < arc.wrap_deg - 1.0:
        return wish_deg % 360
    return (arc.start_deg + arc.wrap_deg / 2) % 360


def _at_pin(path: DrivePath, along: Along, index: int, teeth: int, reference: float) -> float:
    """Return a direction amid the wrap of a wheel, a whole number of pins from the reference."""
    arc = path.arcs[index]
    middle = (arc.start_deg + arc.wrap_deg / 2) % 360
    off = along(index, middle) - reference
    return (middle - (off - round(off)) * 360 / teeth) % 360


def _secondary(
    bank: str,
    sign: int,
    pitch: float,
    teeth: int,
    intake: dict[str, Any],
    apart: float,
    half: float,
) -> dict[str, Any]:
    """Return a two-wheel chain on fixed centres, its marks half a tooth inside the outer strand."""
    angle = math.radians(half)
    exhaust = (
        intake["x_mm"] + sign * apart * math.cos(angle),
        intake["y_mm"] - apart * math.sin(angle),
    )
    places = {"intake": (intake["x_mm"], intake["y_mm"]), "exhaust": exhaust}
    running = ("exhaust", "intake") if sign < 0 else ("intake", "exhaust")
    outward, inside = sign * half, 180 / teeth
    marks = {running[0]: outward - inside, running[1]: outward + inside}
    between = round(apart / pitch) + 1
    radius = pitch_diameter_mm(pitch, teeth) / 2
    names = {kind: f"{kind}-small-{bank}" for kind in running}
    return {
        "id": f"secondary-{bank}",
        "title": f"Secondary chain, bank {bank}",
        "kind": "chain",
        "pitch_mm": pitch,
        "pins": 2 * round(apart / pitch) + teeth,
        "driver": names["intake"],
        "elongation_limit_percent": 0.5,
        "wheels": [
            _wheel(
                names[kind],
                "sprocket",
                PathWheel(*places[kind], radius),
                shaft=f"{kind}-{bank}",
                teeth=teeth,
            )
            | {"mark": _mark(marks[kind])}
            for kind in running
        ],
        "mark_pins": [
            {"from_wheel": names[running[0]], "to_wheel": names[running[1]], "pins": between}
        ],
    }


def _radius_mm(kind: str, pitch: float, teeth: int) -> float:
    if kind == "belt":
        return teeth * pitch / math.tau
    return pitch_diameter_mm(pitch, teeth) / 2


def _shoe(start: PathWheel, end: PathWheel, radius: float, push: float) -> PathWheel:
    """Return a shoe that presses by ``push`` mm on the middle of a strand, from outside."""
    strand = DrivePath((start, end)).spans[0]
    (x0, y0), (x1, y1) = strand.start, strand.end
    across, up = (x1 - x0) / strand.length_mm, (y1 - y0) / strand.length_mm
    out = radius - push
    return PathWheel((x0 + x1) / 2 - up * out, (y0 + y1) / 2 + across * out, radius, back=True)


def _solved(value_at: Any, wanted: float, low: float, high: float) -> float:
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if value_at(middle) < wanted else (low, middle)
    return (low + high) / 2


@st.composite
def _pistons_and_valves(draw: st.DrawFn) -> dict[str, Any]:
    bore, stroke = draw(st.integers(72, 96)), draw(st.integers(70, 96))
    head = bore * 0.38
    intake_lift, exhaust_lift = (round(draw(st.floats(7.5, 11)), 1) for _ in range(2))
    return {
        "piston": {
            "bore_mm": float(bore),
            "stroke_mm": float(stroke),
            "rod_mm": round(stroke * draw(st.floats(1.5, 2.0)), 1),
            "chamber_cc": round(math.pi / 4 * bore**2 * stroke / 1000 / 11, 1),
            "gasket_mm": 0.7,
            "gasket_bore_mm": bore + 1.0,
            "deck_mm": round(draw(st.floats(-0.2, 0.5)), 2),
            "dish_cc": 1.0,
        },
        "valves": {
            "events": {
                "ivo_btdc": float(draw(st.integers(-10, 25))),
                "ivc_abdc": float(draw(st.integers(40, 65))),
                "evo_bbdc": float(draw(st.integers(40, 60))),
                "evc_atdc": float(draw(st.integers(5, 25))),
            },
            "intake_lift_mm": intake_lift,
            "exhaust_lift_mm": exhaust_lift,
            "intake_head_mm": round(head, 1),
            "exhaust_head_mm": round(head * 0.88, 1),
            "intake_tilt_deg": float(draw(st.integers(0, 24))),
            "exhaust_tilt_deg": float(draw(st.integers(0, 24))),
            "intake_recess_mm": 1.0,
            "exhaust_recess_mm": 1.0,
            "intake_pocket_mm": 0.0,
            "exhaust_pocket_mm": 0.0,
            "phaser_range_deg": float(draw(st.sampled_from([0, 0, 20, 30]))),
            "valves_can_meet": draw(st.booleans()),
        },
    }


def _engine(
    layout: CylinderLayout,
    banks: tuple[str, ...],
    angles: list[float],
    shafts: list[dict[str, Any]],
    drives: list[dict[str, Any]],
    marks_crank_deg: float,
) -> dict[str, Any]:
    of_angle = dict(zip(angles, banks, strict=True))
    tdcs = sorted({round(layout.tdc_deg(c), 6) for c in layout.cylinders})
    spacing = max(b - a for a, b in pairwise([*tdcs, tdcs[0] + 360]))
    gaps = list(pairwise([*tdcs, tdcs[0] + 360]))
    first = next(a for a, b in gaps if b - a > spacing - 1e-6)
    tail = shipped(VEE_SIX if len(banks) == 2 else INLINE_FOUR).model_dump(mode="json")
    content = {key: tail[key] for key in _TAIL_KEYS}
    content["sensors"] = [s for s in content["sensors"] if s["shaft"] == "crank"] + [
        {"id": "cam-sensor", "title": "Camshaft wheel", "shaft": shafts[1]["id"], "places": 4}
    ]
    return content | {
        "schema_version": 1,
        "id": "random-engine",
        "title": "Random engine (invented)",
        "invented": True,
        "revision": 1,
        "layout": {
            "kind": "vee" if len(banks) == 2 else "inline",
            "banks": [
                {"id": bank, "angle_deg": angle, "title": f"bank {bank}"}
                for bank, angle in zip(banks, angles, strict=True)
            ],
            "cylinders": [
                {"number": p.number, "bank": of_angle[p.bank_deg], "pin_deg": p.pin_deg}
                for p in layout.places
            ],
            "firing_order": layout.firing_order,
        },
        "shafts": shafts,
        "drives": drives,
        "marks_position": {"crank_deg": marks_crank_deg, "title": "the marks line up"},
        "safe_position": {"atdc_deg": round((first + spacing / 2) % 360, 6)},
    }


def _with_room(sheet: EngineSheet) -> EngineSheet:
    """Deepen the pockets until both valves clear the piston with a little to spare."""
    changes: dict[str, Any] = {}
    for valve in ("intake", "exhaust"):
        short = customary_gap_mm(sheet, valve) + 0.3 - least_gap_of(sheet, valve).gap_mm
        changes[f"valves__{valve}_pocket_mm"] = round(max(short, 0.0), 2)
    roomy = edited(sheet, **changes)
    touching = any(can_touch(roomy, valve) for valve in ("intake", "exhaust"))
    return edited(roomy, valves__interference=touching)


def _mirrored(sheet: EngineSheet) -> EngineSheet:
    """Return the same engine seen in a mirror: it runs anticlockwise."""
    content = sheet.model_dump(mode="json")
    content["layout"]["rotation"] = "anticlockwise"
    for drive in content["drives"]:
        for wheel in drive["wheels"]:
            wheel["x_mm"] = -wheel["x_mm"]
            if wheel["mark"]:
                wheel["mark"]["at_deg"] = -wheel["mark"]["at_deg"]
    for pulley in content["pulleys"]:
        pulley["x_mm"] = -pulley["x_mm"]
    return EngineSheet.model_validate(content)


def _crank() -> dict[str, Any]:
    return {"id": "crank", "title": "Crankshaft", "kind": "crank"}


def _shaft(name: str, carries: list[str], bank: str) -> dict[str, Any]:
    return {
        "id": name,
        "title": f"Camshaft {name}",
        "kind": "cam",
        "bank": bank,
        "carries": carries,
    }


def _wheel(
    name: str, part: str, wheel: PathWheel, *, shaft: str | None = None, teeth: int | None = None
) -> dict[str, Any]:
    return {
        "id": name,
        "part": part,
        "shaft": shaft,
        "x_mm": wheel.x_mm,
        "y_mm": wheel.y_mm,
        "contact": "back" if wheel.back else "inside",
        "teeth": teeth,
        "radius_mm": None if teeth else wheel.radius_mm,
    }


def _mark(at_deg: float) -> dict[str, Any]:
    return {"at_deg": at_deg, "faces": "the pointer on the housing"}
