"""An engine as families see it: what follows from its cylinders and firing order, once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from quizsvc.items.choosing import Draw
from quizsvc.items.model import Given, Level
from quizsvc.items.phrases import count_word, degrees, plain
from quizsvc.sheets.schema import EngineSheet, LayoutKind
from quizsvc.sheets.state import layout_of
from quizsvc.timing.crank import SliderCrank, safe_positions
from quizsvc.timing.cycle import (
    CylinderLayout,
    companion_cylinder,
    cross_plane_v8,
    flat_four,
    inline_layout,
    vee_layout,
)

KEPT = 128
_ANY = SliderCrank(80, 140)  # safe angles are the same for any stroke and rod without pin offset


@dataclass(frozen=True, slots=True, eq=False)  # one object for each engine: hashed by identity
class Engine:
    """Cylinders and firing of one engine.

    ``title`` is what the trade calls it ("inline four"), ``fires`` says order and intervals.
    ``facing`` gives for each cylinder the one across the vee, None without one.
    """

    title: str
    layout: CylinderLayout
    order: tuple[int, ...]
    order_text: str
    firing_deg: dict[int, float]
    intervals_deg: tuple[float, ...]
    tdc_deg: dict[int, float]
    companions: dict[int, int | None]
    facing: dict[int, int | None]
    banks: dict[int, float]
    even: bool
    safe_deg: tuple[float, ...]  # all safe positions in [0, 360), piston pins on the bore axis
    decimals: int  # shown places of its firing angles
    fires: str
    tdcs: tuple[float, ...]  # angles of a turn at which some piston is at TDC
    named: str  # "an inline four"
    begins: str  # opens a prompt: what engine this is and how it fires
    stated: dict[str, Given]

    def givens(self) -> dict[str, Given]:
        return dict(self.stated)


@lru_cache(KEPT)
def engine_of(sheet: EngineSheet) -> Engine:
    """Return the sheet's own engine."""
    count = len(sheet.layout.cylinders)
    kind = sheet.layout.kind
    banks = sorted({bank.angle_deg for bank in sheet.layout.banks})
    words = {
        LayoutKind.INLINE: f"inline {count_word(count)}",
        LayoutKind.FLAT: f"flat {count_word(count)}",
        LayoutKind.VEE: f"{plain(banks[-1] - banks[0])}° vee {count_word(count)}",
    }
    return _engine(words[kind], layout_of(sheet))


@cache
def stock_engines() -> tuple[Engine, ...]:
    """Return common layouts with firing orders they are built with (common practice, no source)."""
    inline = (
        ((1, 3, 2), (1, 2, 3)),
        ((1, 3, 4, 2), (1, 2, 4, 3)),
        ((1, 2, 4, 5, 3), (1, 3, 5, 4, 2)),
        ((1, 5, 3, 6, 2, 4), (1, 4, 2, 6, 3, 5), (1, 2, 3, 6, 5, 4)),
    )
    found = [
        _engine(f"inline {count_word(len(order))}", inline_layout(order))
        for orders in inline
        for order in orders
    ]
    found += [_engine("flat four", flat_four(order)) for order in ((1, 3, 2, 4), (1, 4, 2, 3))]
    for order, left in (
        ((1, 2, 3, 4, 5, 6), (1, 3, 5)),
        ((1, 4, 2, 5, 3, 6), (1, 2, 3)),
        ((1, 6, 5, 4, 3, 2), (1, 3, 5)),
    ):
        found.append(_engine("60° vee six", vee_layout(order, 60, left)))
    for eight in (
        (1, 8, 4, 3, 6, 5, 7, 2),
        (1, 5, 4, 2, 6, 3, 7, 8),
        (1, 8, 7, 2, 6, 5, 4, 3),
        (1, 5, 4, 8, 6, 3, 7, 2),
    ):
        found.append(_engine("90° cross-plane vee eight", cross_plane_v8(eight)))
    return tuple(found)


def an_engine(sheet: EngineSheet, draw: Draw, level: Level) -> Engine:
    """Choose whose cylinders to ask about: recall is about the sheet's own engine."""
    if level is Level.RECALL or draw.chance(0.5):
        return engine_of(sheet)
    return draw.choice(stock_engines())


def _engine(title: str, layout: CylinderLayout) -> Engine:
    order, firing = layout.firing_order, layout.firing_deg
    intervals = tuple(round(deg, 6) + 0.0 for deg in layout.intervals_deg)
    even = max(intervals) - min(intervals) < 1e-6
    banks = {place.number: place.bank_deg for place in layout.places}
    text = "-".join(map(str, order))
    between = (
        f"evenly, every {degrees(intervals[0])} of crank rotation"
        if even
        else f"with {', '.join(map(degrees, intervals))} of crank rotation from each to the next"
    )
    named = f"an {title}" if title[0] in "aeiou8" else f"a {title}"
    fires = f"in the order {text}, {between}"
    tdc_deg = {c: layout.tdc_deg(c) for c in layout.cylinders}
    return Engine(
        title=title,
        layout=layout,
        order=order,
        order_text=text,
        firing_deg=firing,
        intervals_deg=intervals,
        tdc_deg=tdc_deg,
        companions={c: companion_cylinder(firing, c) for c in order},
        facing=_facing(banks),
        banks=banks,
        even=even,
        safe_deg=tuple(round(at.atdc_deg, 6) + 0.0 for at in safe_positions(layout, _ANY)),
        decimals=0 if all(deg == round(deg) for deg in intervals) else 1,
        fires=fires,
        tdcs=tuple(sorted({round(deg, 6) + 0.0 for deg in tdc_deg.values()})),
        named=named,
        begins=f"{named[0].upper()}{named[1:]} fires {fires}.",
        stated={"firing_order": Given(order), "intervals": Given(intervals, "°")},
    )


def _facing(banks: dict[int, float]) -> dict[int, int | None]:
    """Pair the cylinders of two banks by their place in the row."""
    sides: dict[float, list[int]] = {}
    for cylinder in sorted(banks):
        sides.setdefault(banks[cylinder], []).append(cylinder)
    rows = list(sides.values())
    if len(rows) != 2 or len(rows[0]) != len(rows[1]):
        return dict.fromkeys(banks, None)
    pairs = dict(zip(rows[0], rows[1], strict=True))
    return {**pairs, **{b: a for a, b in pairs.items()}}
