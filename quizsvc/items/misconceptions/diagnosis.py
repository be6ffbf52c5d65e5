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
)
