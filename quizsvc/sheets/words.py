"""What each field of a sheet is called in words, with its unit: for forms and differences."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.sheets import schema

UNIT_ENDINGS = (
    ("_kg_m", "kg/m"),
    ("_percent", "%"),
    ("_mm", "mm"),
    ("_cc", "cc"),
    ("_deg", "°"),
    ("_nm", "N·m"),
    ("_n", "N"),
)


@dataclass(frozen=True, slots=True)
class FieldWords:
    """A field's name in words, its unit ("" for none) and a hint where the name is not enough."""

    label: str
    unit: str = ""
    hint: str = ""


def field_words(part: type[schema.Part], field: str) -> FieldWords:
    """Return the words for a field; a name that says enough by itself is only tidied.

    >>> field_words(schema.Piston, "stroke_mm")
    FieldWords(label='Stroke', unit='mm', hint='')
    """
    return _WORDS.get((part, field)) or _tidied(field)


def row_words(part: type[schema.Part]) -> str:
    """Return what one row of a list is called, for example "wheel"."""
    return _ROWS.get(part, part.__name__.lower())


def _tidied(field: str) -> FieldWords:
    for ending, unit in UNIT_ENDINGS:
        if field.endswith(ending):
            return FieldWords(_sentence(field.removesuffix(ending)), unit)
    return FieldWords(_sentence(field))


def _sentence(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


_CLOCKWISE = "clockwise from straight up, seen from the chain end"
_NAME = FieldWords("Id", "", "small letters, digits, hyphens")
_ROWS: dict[type[schema.Part], str] = {
    schema.CylinderBank: "bank",
    schema.MarkPins: "pin count",
    schema.SensorWheel: "sensor wheel",
}
_WORDS: dict[tuple[type[schema.Part], str], FieldWords] = {
    (schema.EngineSheet, "id"): _NAME,
    (schema.EngineSheet, "invented"): FieldWords("Invented for teaching"),
    (schema.EngineSheet, "built_from"): FieldWords("Built from", "", "blank: from the first on"),
    (schema.EngineSheet, "built_to"): FieldWords("Built to", "", "blank: until today"),
    (schema.EngineSheet, "layout"): FieldWords("Layout"),
    (schema.EngineSheet, "piston"): FieldWords("Pistons and crank"),
    (schema.EngineSheet, "damper_diameter_mm"): FieldWords("Damper, diameter", "mm"),
    (schema.EngineSheet, "sensors"): FieldWords("Sensor wheels"),
    (schema.EngineSheet, "note"): FieldWords("What changed"),
    (schema.Layout, "rotation"): FieldWords("Running rotation", "", "seen from the chain end"),
    (schema.Layout, "firing_order"): FieldWords("Firing order", "", "1, 3, 4, 2"),
    (schema.CylinderBank, "angle_deg"): FieldWords(
        "Bank axis", "°", "from straight up, + in running direction"
    ),
    (schema.Cylinder, "pin_deg"): FieldWords("Crankpin", "°", "ahead of pin 1 when running"),
    (schema.Piston, "rod_mm"): FieldWords("Rod between centres", "mm"),
    (schema.Piston, "pin_offset_mm"): FieldWords("Piston pin offset", "mm"),
    (schema.Piston, "chamber_cc"): FieldWords("Chamber in the head", "cc"),
    (schema.Piston, "gasket_mm"): FieldWords("Gasket, pressed", "mm"),
    (schema.Piston, "gasket_bore_mm"): FieldWords("Gasket bore", "mm"),
    (schema.Piston, "deck_mm"): FieldWords("Crown below deck", "mm", "above the deck: negative"),
    (schema.Piston, "dish_cc"): FieldWords("Dish in the crown", "cc", "a dome: negative"),
    (schema.Events, "ivo_btdc"): FieldWords("Intake opens before TDC", "°", "after TDC: negative"),
    (schema.Events, "ivc_abdc"): FieldWords("Intake closes after BDC", "°", "before BDC: negative"),
    (schema.Events, "evo_bbdc"): FieldWords("Exhaust opens before BDC", "°", "after: negative"),
    (schema.Events, "evc_atdc"): FieldWords("Exhaust closes after TDC", "°", "before: negative"),
    (schema.Events, "at_lift_mm"): FieldWords("Events counted at lift", "mm"),
    (schema.Valves, "events"): FieldWords("Events, crank degrees"),
    (schema.Valves, "intake_head_mm"): FieldWords("Intake head, diameter", "mm"),
    (schema.Valves, "exhaust_head_mm"): FieldWords("Exhaust head, diameter", "mm"),
    (schema.Valves, "intake_tilt_deg"): FieldWords("Intake tilt from bore axis", "°"),
    (schema.Valves, "exhaust_tilt_deg"): FieldWords("Exhaust tilt from bore axis", "°"),
    (schema.Valves, "intake_recess_mm"): FieldWords("Intake face above head plane", "mm"),
    (schema.Valves, "exhaust_recess_mm"): FieldWords("Exhaust face above head plane", "mm"),
    (schema.Valves, "intake_pocket_mm"): FieldWords("Intake pocket in the crown", "mm"),
    (schema.Valves, "exhaust_pocket_mm"): FieldWords("Exhaust pocket in the crown", "mm"),
    (schema.Valves, "least_intake_gap_mm"): FieldWords("Least intake gap asked for", "mm"),
    (schema.Valves, "least_exhaust_gap_mm"): FieldWords("Least exhaust gap asked for", "mm"),
    (schema.Valves, "phaser_range_deg"): FieldWords("Phaser range", "°", "crank, 0: no phaser"),
    (schema.Valves, "valves_can_meet"): FieldWords("Open valves can touch each other"),
    (schema.Valves, "interference"): FieldWords("Interference engine"),
    (schema.Shaft, "carries"): FieldWords("Carries lobes for", "", "intake, exhaust or both"),
    (schema.Shaft, "bank"): FieldWords("Bank", "", "blank: serves all"),
    (schema.Drive, "pitch_mm"): FieldWords("Pitch", "mm"),
    (schema.Drive, "pins"): FieldWords("Pitches in the loop", "", "a chain's pins, a belt's teeth"),
    (schema.Drive, "driver"): FieldWords("Driving wheel", "", "the wheel that pulls"),
    (schema.Drive, "wheels"): FieldWords("Wheels, in running order"),
    (schema.Drive, "mark_pins"): FieldWords("Pins or belt teeth between marks"),
    (schema.Drive, "marked_links"): FieldWords(
        "Marked links or teeth", "", "their numbers, 0 at the driver"
    ),
    (schema.Drive, "elongation_limit_percent"): FieldWords("Wear limit, elongation", "%"),
    (schema.Drive, "belt_mass_kg_m"): FieldWords("Mass of the belt", "kg/m", "belts only"),
    (schema.Drive, "renew_km"): FieldWords("Renewed every", "km", "belts only, or by age"),
    (schema.Drive, "renew_years"): FieldWords("Renewed every", "years", "whichever comes first"),
    (schema.Wheel, "x_mm"): FieldWords("x to the right", "mm"),
    (schema.Wheel, "y_mm"): FieldWords("y up", "mm"),
    (schema.Wheel, "radius_mm"): FieldWords("Radius", "mm", "plain wheels, to the pitch line"),
    (schema.Wheel, "teeth"): FieldWords("Teeth", "", "toothed wheels"),
    (schema.Mark, "at_deg"): FieldWords("Mark at", "°", _CLOCKWISE),
    (schema.Mark, "faces"): FieldWords("Mark faces"),
    (schema.Tensioner, "wheel"): FieldWords("Presses on wheel"),
    (schema.Tensioner, "extension_new_mm"): FieldWords("Extension when new", "mm", "chains only"),
    (schema.Tensioner, "groove_at_mm"): FieldWords("Wear groove shows at", "mm"),
    (schema.Tensioner, "longest_mm"): FieldWords("Longest extension", "mm"),
    (schema.Tensioner, "ratchet_step_mm"): FieldWords("Ratchet step", "mm"),
    (schema.MarkPins, "pins"): FieldWords(
        "Pins", "", "or belt teeth: not the first mark's, but the second's"
    ),
    (schema.MarksPosition, "crank_deg"): FieldWords("Crankshaft", "°", "after firing TDC 1"),
    (schema.MarksPosition, "title"): FieldWords("In words"),
    (schema.SafePosition, "atdc_deg"): FieldWords("Crankshaft after TDC 1", "°"),
    (schema.SensorWheel, "places"): FieldWords("Places", "", "teeth if none were missing"),
    (schema.SensorWheel, "missing"): FieldWords("Missing teeth"),
    (schema.SensorWheel, "first_edge_deg"): FieldWords("First edge after the gap", "°", "ATDC 1"),
    (schema.Fastener, "angle_deg"): FieldWords("Then by angle", "°"),
    (schema.Fastener, "reuse"): FieldWords("May be used again"),
    (schema.AccessoryBelt, "mass_kg_m"): FieldWords("Mass of the belt", "kg/m"),
    (schema.AccessoryBelt, "order"): FieldWords("Order of pulleys", "", "ids, crankshaft first"),
    (schema.AccessoryBelt, "tension_new_n"): FieldWords("Tension of a new belt", "N"),
    (schema.AccessoryBelt, "tension_used_n"): FieldWords("Tension of a run-in belt", "N"),
}
