"""Cautions that items repeat wherever a hand could follow them to an engine."""

from __future__ import annotations

from quizsvc.sheets.schema import EngineSheet

FIRST = "The maker's service information, local rules and licensed practice come first."
TURNING = (
    "Turn an engine by hand only, at the crankshaft, in its running direction, with ignition "
    f"and starter made safe. {FIRST}"
)
PISTONS_ONLY = (
    "This clears pistons only: open intake and exhaust valves may still meet each other where "
    "the engine lets them, so follow the order of work in the maker's information."
)
INTERFERENCE = (
    "Interference engine: with crank and cams out of step a valve can meet a piston. Stop at the "
    "first resistance and never force it."
)
CHAIN_WORK = (
    "Tensioners are spring loaded: lock or hold the plunger before taking the chain off, and "
    f"keep fingers out of sprockets while anything turns. {FIRST}"
)
BELT_WORK = (
    "Disconnect the battery first. The belt's tensioner is spring loaded: relieve it with the "
    "stated tool before the belt comes off. Never kink, twist or pry a belt, keep oil and coolant "
    f"off it, and keep fingers from between belt and pulley while anything turns. {FIRST}"
)
CHECK_TURN = (
    "After fitting, turn the crankshaft two full turns by hand, feeling for resistance, and "
    "count again before the starter is used."
)


def interference_of(sheet: EngineSheet) -> str:
    """Return the caution for engines whose valves and pistons can meet."""
    return INTERFERENCE if sheet.valves.interference else ""


GAP_MEASURED = (
    "A computed gap never replaces a measured one: check valve-to-piston clearance by hand "
    f"before the engine is started. {FIRST}"
)
BELT_SETTING = (
    "Set a belt with the engine cold and at rest, never kink or pry it, and turn the engine two "
    f"full turns by hand before the final check. {FIRST}"
)
RUNNING_SIGNALS = (
    "Signals are taken while the engine turns: keep leads, hands and sleeves clear of belts and "
    f"fans. {FIRST}"
)
TORQUE = (
    "Use a calibrated wrench, pull steadily at the middle of its handle, and never loosen with "
    f"it. {FIRST}"
)
STRETCH_BOLT = (
    "Bolts tightened by angle are stretched and often used once only; one turned too far can "
    f"break. {FIRST}"
)
BELTS_TURN = (
    "Never reach to a belt or pulley while the engine can turn: key out, battery disconnected. "
    f"{FIRST}"
)
