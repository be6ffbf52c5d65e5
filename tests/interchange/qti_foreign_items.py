"""Items of others for tests, and what is told of bringing them in."""

from qti_packages import foreign_package

from quizsvc.interchange.qti.package import import_package
from quizsvc.interchange.qti.report import Fate

EQUAL = (
    "<qti-response-processing><qti-response-condition><qti-response-if>"
    '<qti-equal tolerance-mode="{mode}" {tolerance}><qti-variable identifier="RESPONSE"/>'
    '<qti-correct identifier="RESPONSE"/></qti-equal>'
    '<qti-set-outcome-value identifier="SCORE"><qti-base-value base-type="float">1'
    "</qti-base-value></qti-set-outcome-value>"
    "</qti-response-if></qti-response-condition></qti-response-processing>"
)
INLINE = (
    '<qti-feedback-inline outcome-identifier="F" identifier="A" show-hide="show">'
    "It presses.</qti-feedback-inline>"
)
MODAL = (
    '<qti-modal-feedback outcome-identifier="F" identifier="A" show-hide="show">'
    "<qti-content-body>It presses.</qti-content-body></qti-modal-feedback>"
)
ENTRY = '<p>How many? <qti-text-entry-interaction response-identifier="RESPONSE"/> mm</p>'
FLOAT = 'cardinality="single" base-type="float"'


def only(*items, **more):
    imported = import_package(foreign_package(*items, **more))
    assert imported.items_kept == 1, imported.notes
    return imported.bank.items[0], imported.notes


def told(notes, fate):
    return [note.what for note in notes if note.fate is fate]


def left_out(*items, **more):
    imported = import_package(foreign_package(*items, **more))
    assert imported.bank is None
    (note,) = [note for note in imported.notes if note.item]
    assert note.fate is Fate.LEFT_OUT
    return note


ORDER = (
    '<qti-order-interaction response-identifier="RESPONSE"><qti-prompt>In order?</qti-prompt>'
    '<qti-simple-choice identifier="C">Third</qti-simple-choice>'
    '<qti-simple-choice identifier="A">First</qti-simple-choice>'
    '<qti-simple-choice identifier="B">Second</qti-simple-choice></qti-order-interaction>'
)
ORDERED = 'cardinality="ordered" base-type="identifier"'
MATCH = (
    '<qti-match-interaction response-identifier="RESPONSE" max-associations="3">'
    "<qti-prompt>Which goes where?</qti-prompt><qti-simple-match-set>"
    + "".join(
        f'<qti-simple-associable-choice identifier="L{i}" match-max="1">left {i}'
        "</qti-simple-associable-choice>"
        for i in range(3)
    )
    + "</qti-simple-match-set><qti-simple-match-set>"
    + "".join(
        f'<qti-simple-associable-choice identifier="R{i}" match-max="1">right {i}'
        "</qti-simple-associable-choice>"
        for i in range(4)
    )
    + "</qti-simple-match-set></qti-match-interaction>"
)
PAIRED = 'cardinality="multiple" base-type="directedPair"'
HOTSPOT = (
    '<qti-hotspot-interaction response-identifier="RESPONSE" max-choices="1">'
    '<qti-prompt>Where?</qti-prompt><img src="{src}" alt="A housing" width="200" height="100"/>'
    '<qti-hotspot-choice identifier="A" shape="circle" coords="40,50,20" hotspot-label="Neck"/>'
    '<qti-hotspot-choice identifier="B" shape="{shape}" coords="{coords}"/>'
    "</qti-hotspot-interaction>"
)
