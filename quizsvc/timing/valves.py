"""Valve events of one cylinder and what follows from them.

Events in crank degrees: intake opens before TDC (IVO BTDC), closes after BDC (IVC ABDC); exhaust
opens before BDC (EVO BBDC), closes after TDC (EVC ATDC). A negative value is the other side of
the dead centre.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from quizsvc.timing.cycle import CYCLE_DEG, degrees_after_firing_tdc
from quizsvc.timing.quantity import number, refuse, turn_deg

ValveKind = Literal["intake", "exhaust"]


@dataclass(frozen=True, slots=True)
class ValveEvents:
    """The four valve events of a cam timing.

    >>> events = ValveEvents(ivo_btdc=20, ivc_abdc=60, evo_bbdc=60, evc_atdc=20)
    >>> events.intake_duration_deg, events.overlap_deg, events.lobe_separation_cam_deg
    (260.0, 40.0, 110.0)
    """

    ivo_btdc: float
    ivc_abdc: float
    evo_bbdc: float
    evc_atdc: float

    def __post_init__(self) -> None:
        for name in ("ivo_btdc", "ivc_abdc", "evo_bbdc", "evc_atdc"):
            object.__setattr__(self, name, number(name, getattr(self, name), above=-180, below=180))
        if self.intake_duration_deg <= 0:
            refuse("ivc_abdc", self.ivc_abdc, "closes the intake valve before it has opened.")
        if self.exhaust_duration_deg <= 0:
            refuse("evc_atdc", self.evc_atdc, "closes the exhaust valve before it has opened.")

    @property
    def intake_duration_deg(self) -> float:
        """Crank degrees the intake valve is open: IVO + 180 + IVC."""
        return self.ivo_btdc + 180 + self.ivc_abdc

    @property
    def exhaust_duration_deg(self) -> float:
        """Crank degrees the exhaust valve is open: EVO + 180 + EVC."""
        return self.evo_bbdc + 180 + self.evc_atdc

    @property
    def overlap_deg(self) -> float:
        """Crank degrees both valves are open: IVO + EVC; negative when neither is."""
        return self.ivo_btdc + self.evc_atdc

    @property
    def intake_lobe_centre_atdc(self) -> float:
        """Crank degrees after TDC of the middle of the intake opening."""
        return self.intake_duration_deg / 2 - self.ivo_btdc

    @property
    def exhaust_lobe_centre_btdc(self) -> float:
        """Crank degrees before TDC of the middle of the exhaust opening."""
        return self.exhaust_duration_deg / 2 - self.evc_atdc

    @property
    def lobe_separation_cam_deg(self) -> float:
        """Cam degrees between the two lobe centres: the mean of the centres' crank degrees."""
        return (self.intake_lobe_centre_atdc + self.exhaust_lobe_centre_btdc) / 2

    @property
    def intake_open_deg(self) -> float:
        """IVO on the cylinder's own scale in [0, 720), 0 at its firing TDC."""
        return turn_deg(360 - self.ivo_btdc, CYCLE_DEG)

    @property
    def intake_close_deg(self) -> float:
        """IVC on the cylinder's own scale in [0, 720)."""
        return turn_deg(540 + self.ivc_abdc, CYCLE_DEG)

    @property
    def exhaust_open_deg(self) -> float:
        """EVO on the cylinder's own scale in [0, 720)."""
        return turn_deg(180 - self.evo_bbdc, CYCLE_DEG)

    @property
    def exhaust_close_deg(self) -> float:
        """EVC on the cylinder's own scale in [0, 720)."""
        return turn_deg(360 + self.evc_atdc, CYCLE_DEG)

    def duration_deg(self, valve: ValveKind) -> float:
        """Crank degrees the named valve is open."""
        return self.intake_duration_deg if valve == "intake" else self.exhaust_duration_deg

    def open_deg(self, valve: ValveKind) -> float:
        """Opening of the named valve on the cylinder's own scale in [0, 720)."""
        return self.intake_open_deg if valve == "intake" else self.exhaust_open_deg

    def close_deg(self, valve: ValveKind) -> float:
        """Closing of the named valve on the cylinder's own scale in [0, 720)."""
        return self.intake_close_deg if valve == "intake" else self.exhaust_close_deg

    def advanced(
        self, crank_deg: float, *, intake: bool = True, exhaust: bool = True
    ) -> ValveEvents:
        """Turn the cams ahead by ``crank_deg``; negative retards.

        Advancing raises IVO and EVO and lowers IVC and EVC. Leave out a shaft that stays put.
        Source: tuning texts.

        >>> ValveEvents(20, 60, 60, 20).advanced(5)
        ValveEvents(ivo_btdc=25.0, ivc_abdc=55.0, evo_bbdc=65.0, evc_atdc=15.0)
        """
        number("crank_deg", crank_deg)
        inlet, outlet = crank_deg * intake, crank_deg * exhaust
        return ValveEvents(
            self.ivo_btdc + inlet,
            self.ivc_abdc - inlet,
            self.evo_bbdc + outlet,
            self.evc_atdc - outlet,
        )

    def is_open(self, valve: ValveKind, own_deg: float) -> bool:
        """Whether the valve is off its seat at an angle after the cylinder's firing TDC."""
        opened = turn_deg(own_deg - self.open_deg(valve), CYCLE_DEG)
        return opened < self.duration_deg(valve)


def open_valves(
    events: ValveEvents, firing_deg: Mapping[int, float], crank_deg: float
) -> tuple[tuple[int, ValveKind], ...]:
    """Name the valves off their seats, by cylinder number, the intake before the exhaust.

    A valve counts as open from its opening event up to, not at, its closing event.

    >>> open_valves(ValveEvents(10, 40, 45, 5), {1: 0, 3: 180, 4: 360, 2: 540}, 0)
    ((2, 'exhaust'), (3, 'intake'), (4, 'intake'), (4, 'exhaust'))
    """
    found: list[tuple[int, ValveKind]] = []
    for cylinder in sorted(firing_deg):
        own = degrees_after_firing_tdc(firing_deg[cylinder], crank_deg)
        if events.is_open("intake", own):
            found.append((cylinder, "intake"))
        if events.is_open("exhaust", own):
            found.append((cylinder, "exhaust"))
    return tuple(found)
