"""Wrong ideas about coolant, its pump and the thermostat."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "any-trace-means-failed-pump",
        "cooling",
        "Any trace means a failed pump",
        "A good pump seal lets nothing through at all.",
        "The seal's faces slide on a film of coolant: a dry trace with a steady level is normal.",
    ),
    Misconception(
        "any-seepage-is-normal",
        "cooling",
        "Seepage at the weep hole is normal, whatever its amount",
        "The weep hole is there to leak.",
        "A trace is normal; steady drops and a falling level mean a failing seal.",
    ),
    Misconception(
        "shut-thermostat-cools",
        "cooling",
        "A shut thermostat keeps the engine cool",
        "With the thermostat shut, the engine never gets warm.",
        "Shut, it keeps coolant from the radiator: the engine gets hot, the radiator stays cold.",
    ),
    Misconception(
        "coolant-by-colour",
        "cooling",
        "Coolant is chosen by colour",
        "The same colour means the same coolant.",
        "Colour is dye; the stated specification tells what may be used.",
    ),
    Misconception(
        "milky-oil-boils-off",
        "cooling",
        "Milky oil boils clear",
        "Driving hot takes the water out of the oil.",
        "Glycol stays in the oil and ruins bearings: find the leak and change the oil before "
        "running.",
    ),
)
