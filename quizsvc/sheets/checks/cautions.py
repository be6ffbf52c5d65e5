"""Cautions that the sheet must carry, since questions and figures show them."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import CautionKind
from quizsvc.sheets.sound import Sound

# Springs, turning parts and valves that meet pistons hurt in every job on a valve train; the
# others depend on the job, so that their absence may be meant.
ALWAYS = {
    CautionKind.SPRING: "tensioner and valve springs are loaded",
    CautionKind.ROTATION: "the engine is turned by hand with the drive open",
}
USUAL = {
    CautionKind.COOLANT: "hot coolant scalds",
    CautionKind.LIFTING: "engine or vehicle may have to be held",
    CautionKind.BATTERY: "the starter must not be able to turn the engine",
}


def check_cautions(sound: Sound) -> Iterator[Finding]:
    given = {caution.kind for caution in sound.sheet.cautions}
    listed = sorted(str(kind) for kind in given)
    for kind, why in ALWAYS.items():
        if kind not in given:
            yield error(("cautions",), listed, f"the {kind} caution is missing: {why}.", _add(kind))
    if sound.sheet.valves.interference and CautionKind.INTERFERENCE not in given:
        kind = CautionKind.INTERFERENCE
        why = "valves can meet pistons when a shaft is turned out of time"
        yield error(("cautions",), listed, f"the {kind} caution is missing: {why}.", _add(kind))
    for kind, why in USUAL.items():
        if kind not in given:
            yield warning(
                ("cautions",), listed, f"the {kind} caution is missing: {why}.", _add(kind)
            )


def _add(kind: CautionKind) -> str:
    return f'Add a [[cautions]] table of kind "{kind}".'
