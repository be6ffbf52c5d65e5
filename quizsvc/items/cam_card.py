"""Cam cards as the valve families put them: drawn around the sheet's own, and said in words."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures.event_circle import EventCircle
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Given
from quizsvc.items.phrases import degrees
from quizsvc.sheets.schema import EngineSheet, ShaftKind
from quizsvc.timing.valves import ValveEvents, ValveKind

EVENTS = ("ivo_btdc", "ivc_abdc", "evo_bbdc", "evc_atdc")
EVENT_TITLES = {
    "ivo_btdc": "intake opens",
    "ivc_abdc": "intake closes",
    "evo_bbdc": "exhaust opens",
    "evc_atdc": "exhaust closes",
}
EVENT_SIDES = {
    "ivo_btdc": ("before TDC", "after TDC"),
    "ivc_abdc": ("after BDC", "before BDC"),
    "evo_bbdc": ("before BDC", "after BDC"),
    "evc_atdc": ("after TDC", "before TDC"),
}
EVENT_SHORT = {"ivo_btdc": "IVO", "ivc_abdc": "IVC", "evo_bbdc": "EVO", "evc_atdc": "EVC"}
ADVANCED_RAISES = {"ivo_btdc": 1, "ivc_abdc": -1, "evo_bbdc": 1, "evc_atdc": -1}
VALVES: tuple[ValveKind, ...] = ("intake", "exhaust")
CARD_GIVES = EVENTS
LEAST_CAM_TEETH = 30  # sprockets that only join two camshafts have fewer
USUAL_CAM_TEETH = 36


@dataclass(frozen=True, slots=True)
class ValveOnCard:
    """One valve's line of the card: its angle at TDC and its angle at BDC."""

    events: ValveEvents
    valve: ValveKind

    @property
    def at_tdc(self) -> float:
        return self.events.ivo_btdc if self.valve == "intake" else self.events.evc_atdc

    @property
    def at_bdc(self) -> float:
        return self.events.ivc_abdc if self.valve == "intake" else self.events.evo_bbdc

    @property
    def duration_deg(self) -> float:
        return self.events.duration_deg(self.valve)

    @property
    def lobe_centre_deg(self) -> float:
        """After TDC for the intake valve, before TDC for the exhaust valve."""
        if self.valve == "intake":
            return self.events.intake_lobe_centre_atdc
        return self.events.exhaust_lobe_centre_btdc

    @property
    def other(self) -> ValveOnCard:
        return ValveOnCard(self.events, "exhaust" if self.valve == "intake" else "intake")


def usual_card(sheet: EngineSheet, draw: Draw) -> ValveEvents:
    """Draw a card with every event on its usual side, around the sheet's own."""
    own = sheet.valves.events
    return ValveEvents(
        ivo_btdc=_near(draw, max(own.ivo_btdc, 8), 2, 38),
        ivc_abdc=_near(draw, own.ivc_abdc, 30, 84),
        evo_bbdc=_near(draw, own.evo_bbdc, 30, 84),
        evc_atdc=_near(draw, max(own.evc_atdc, 8), 2, 38),
    )


def unusual_card(sheet: EngineSheet, draw: Draw) -> ValveEvents:
    """Draw a card on which one valve works on the other side of TDC."""
    card = usual_card(sheet, draw)
    late = -float(draw.integer(2, 14))
    if draw.chance(0.7):
        return ValveEvents(late, card.ivc_abdc, card.evo_bbdc, card.evc_atdc)
    return ValveEvents(card.ivo_btdc, card.ivc_abdc, card.evo_bbdc, late)


def _near(draw: Draw, own: float, low: int, high: int) -> float:
    return float(min(high, max(low, round(own) + draw.integer(-9, 9))))


def event_of(events: ValveEvents, name: str) -> float:
    return float(getattr(events, name))


def event_words(name: str, value: float) -> str:
    """Say an event's angle with its side: "12° before TDC", "4° after TDC"."""
    usual, other = EVENT_SIDES[name]
    if value == 0:
        return f"at {usual.split()[1]}"
    return f"{degrees(abs(value))} {usual if value > 0 else other}"


def card_words(events: ValveEvents) -> str:
    """Say the whole card, so that the prompt alone suffices."""
    said = {name: event_words(name, event_of(events, name)) for name in EVENTS}
    return (
        f"Cam card in crank degrees: intake opens {said['ivo_btdc']}, closes {said['ivc_abdc']}; "
        f"exhaust opens {said['evo_bbdc']}, closes {said['evc_atdc']}."
    )


def card_givens(events: ValveEvents) -> dict[str, Given]:
    return {name: Given(event_of(events, name), "°") for name in EVENTS}


def event_circle(
    events: ValveEvents, *, hidden: tuple[str, ...] = (), span: str = "", note: str = ""
) -> EventCircle:
    return EventCircle(
        events.ivo_btdc,
        events.ivc_abdc,
        events.evo_bbdc,
        events.evc_atdc,
        tuple(EVENT_SHORT[name] for name in hidden),
        span,
        note,
    )


def cam_teeth(sheet: EngineSheet, draw: Draw) -> int:
    """Draw teeth of a cam sprocket: one of the sheet's, or a few more or fewer."""
    cams = {shaft.id for shaft in sheet.shafts if shaft.kind is ShaftKind.CAM}
    own = [w.teeth for d in sheet.drives for w in d.wheels if w.teeth and w.shaft in cams]
    main = [teeth for teeth in own if teeth >= LEAST_CAM_TEETH] or [USUAL_CAM_TEETH]
    return draw.choice(main) + 2 * draw.integer(-2, 4)


def degree_sum(*parts: float) -> str:
    """Write a sum as on the board, with its result.

    >>> degree_sum(180, -13, 62)
    '180° − 13° + 62° = 229°'
    """
    said = degrees(parts[0])
    for part in parts[1:]:
        said += f" {'−' if part < 0 else '+'} {degrees(abs(part))}"
    return f"{said} = {degrees(round(sum(parts), 6))}"
