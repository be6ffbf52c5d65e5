"""Wrong ideas on the way from symptom to cause."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "code-names-the-part",
        "diagnosis",
        "The code names the part",
        "A code about a signal means that its sensor is bad.",
        "A code says what was noticed; whether sensor, wiring or the shafts themselves are out "
        "takes a measurement.",
    ),
    Misconception(
        "turns-freely-means-right",
        "procedure",
        "It turns freely, so it is right",
        "An engine that can be turned by hand is in time.",
        "An engine may be a tooth out, or have a pin left in it, and still turn: the marks and the "
        "tool tray tell.",
    ),
    Misconception(
        "no-code-means-fine",
        "diagnosis",
        "No code, no fault",
        "Without a stored code everything is within limits.",
        "A code may need several runs; compare the value with what is stated.",
    ),
    Misconception(
        "early-cams-close-later",
        "diagnosis",
        "Early cams close later",
        "Cams that run early keep the intake valves open for longer.",
        "Early cams do everything sooner: the intake valves close sooner too.",
    ),
    Misconception(
        "thick-oil-cures-chain",
        "diagnosis",
        "Thick oil cures a chain noise",
        "Thicker oil cushions a loose chain.",
        "Oil puts no tooth back and shortens no chain.",
    ),
)
