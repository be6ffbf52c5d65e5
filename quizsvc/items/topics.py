"""The topics that competence is tracked by."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError


@dataclass(frozen=True, slots=True)
class Topic:
    id: str
    title: str
    about: str


TOPICS: tuple[Topic, ...] = (
    Topic(
        "cycle",
        "Strokes and firing order",
        "Which stroke each cylinder is on, and which fires next.",
    ),
    Topic("piston", "Pistons and crank", "Where pistons stand, and where it is safe to turn cams."),
    Topic(
        "marks", "Timing marks", "Counting pins or teeth, reading marks, finding a slipped tooth."
    ),
    Topic("valves", "Valve events", "When valves open and close, lift, overlap and clearance."),
    Topic("chain", "Chains and belts", "Pitch, length, wrap and path of a chain or belt drive."),
    Topic("wear", "Wear and tension", "Stretch, tensioners, guides and belts that have run in."),
    Topic("signals", "Cam and crank signals", "Tone wheels, edges and correlation."),
    Topic("fasteners", "Fasteners and torque", "Torque, angle, adapters and units."),
    Topic("accessory", "Accessory drives", "Pulleys, belts and their speeds."),
    Topic(
        "procedure",
        "Taking apart and putting together",
        "Order of work, tools and checks afterwards.",
    ),
    Topic("safety", "Working safely", "What can hurt people or engines, before and during work."),
    Topic(
        "cooling",
        "Coolant pump and thermostat",
        "Seepage, seals and coolant work beside the timing drive.",
    ),
    Topic("diagnosis", "Finding the fault", "From symptom and measurement to cause."),
)
_BY_ID = {topic.id: topic for topic in TOPICS}


def find_topic(topic_id: str) -> Topic:
    try:
        return _BY_ID[topic_id]
    except KeyError:
        raise InputError(
            "there is no such topic.",
            field="topic",
            value=topic_id,
            remedy=f"Use one of: {', '.join(_BY_ID)}.",
        ) from None
