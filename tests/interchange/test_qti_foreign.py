"""Items of others: what can be mapped is mapped, the rest is told item by item."""

import pytest
from qti_packages import (
    CHOICE_BODY,
    foreign_item,
    foreign_package,
    manifest_of,
    picture,
    sound_package,
    unzipped,
    zipped,
)

from quizsvc.interchange.qti.package import import_package
from quizsvc.interchange.qti.report import Fate, Filling
from quizsvc.items.model import Level

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


def test_a_plain_choice_becomes_one_choice_with_the_filling_told():
    item, notes = only(foreign_item(CHOICE_BODY))

    assert item.kind == "one choice"
    assert item.prompt == "Which part holds the *chain* tight?\n\nChoose one."
    assert [(one.text, one.correct) for one in item.options] == [
        ("The tensioner", True),
        ("The dipstick", False),
    ]
    assert [note.fate for note in notes] == [Fate.FILLED]
    assert notes[0].item == "foreign"


def test_topic_level_reference_and_author_are_put_where_the_source_says_nothing():
    filling = Filling(author="Ann", topic="wear", level=Level.DIAGNOSE, reference="ours")

    imported = import_package(foreign_package(foreign_item(CHOICE_BODY)), filling)

    item = imported.bank.items[0]
    assert (item.topic, item.level, item.reference) == ("wear", "diagnose", "ours")
    assert imported.bank.author == "Ann"


def test_several_right_choices_become_several_choices():
    body = CHOICE_BODY.replace('max-choices="1"', 'max-choices="0"').replace(
        "</qti-choice-interaction>",
        '<qti-simple-choice identifier="C">The guide</qti-simple-choice></qti-choice-interaction>',
    )
    declared = 'cardinality="multiple" base-type="identifier"'

    item, _ = only(foreign_item(body, declared=declared, key=("A", "C")))

    assert item.kind == "several choices"
    assert [one.correct for one in item.options] == [True, False, True]


@pytest.mark.parametrize(
    ("written", "more"),
    [
        (
            INLINE,
            "",
        ),
        (
            "",
            MODAL,
        ),
    ],
)
def test_feedback_on_a_choice_becomes_its_rationale(written, more):
    body = CHOICE_BODY.replace("The tensioner<", f"The tensioner{written}<")

    item, notes = only(foreign_item(body, more=more))

    assert item.options[0].text == "The tensioner"
    assert item.options[0].rationale == "It presses."
    assert told(notes, Fate.LOST) == []


@pytest.mark.parametrize(
    ("mode", "tolerance", "expected"),
    [
        ("exact", "", 0.0),
        ("absolute", 'tolerance="0.5"', 0.5),
        ("absolute", 'tolerance="0.5 0.2"', 0.2),
        ("relative", 'tolerance="10"', 0.725),
    ],
)
def test_a_typed_number_keeps_its_tolerance(mode, tolerance, expected):
    processing = EQUAL.format(mode=mode, tolerance=tolerance)

    item, _ = only(foreign_item(ENTRY, declared=FLOAT, key=("7.25",), processing=processing))

    assert item.kind == "number"
    assert item.answer.value == 7.25
    assert item.answer.decimals == 2
    assert item.answer.tolerance == pytest.approx(expected)
    assert item.prompt == "How many? … mm"


def test_a_rounded_comparison_becomes_a_tolerance_and_is_told():
    processing = (
        '<qti-response-processing><qti-equal-rounded figures="1" rounding-mode="decimalPlaces">'
        '<qti-variable identifier="RESPONSE"/><qti-correct identifier="RESPONSE"/>'
        "</qti-equal-rounded></qti-response-processing>"
    )

    item, notes = only(foreign_item(ENTRY, declared=FLOAT, key=("7.2",), processing=processing))

    assert item.answer.tolerance == pytest.approx(0.05)
    assert any("rounded" in what for what in told(notes, Fate.CHANGED))


ORDER = (
    '<qti-order-interaction response-identifier="RESPONSE"><qti-prompt>In order?</qti-prompt>'
    '<qti-simple-choice identifier="C">Third</qti-simple-choice>'
    '<qti-simple-choice identifier="A">First</qti-simple-choice>'
    '<qti-simple-choice identifier="B">Second</qti-simple-choice></qti-order-interaction>'
)
ORDERED = 'cardinality="ordered" base-type="identifier"'


def test_one_order_becomes_a_chain_of_rules_and_that_is_told():
    item, notes = only(foreign_item(ORDER, declared=ORDERED, key=("A", "B", "C")))

    assert [thing.text for thing in item.sequence] == ["First", "Second", "Third"]
    assert [(rule.first, rule.later) for rule in item.before] == [("a", "b"), ("b", "c")]
    assert any("became rules" in what for what in told(notes, Fate.CHANGED))


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


def test_a_match_keeps_its_pairs_and_what_fits_nothing():
    item, _ = only(foreign_item(MATCH, declared=PAIRED, key=("L0 R2", "L1 R1", "L2 R0")))

    assert [(pair.left, pair.right) for pair in item.pairs] == [
        ("left 0", "right 2"),
        ("left 1", "right 1"),
        ("left 2", "right 0"),
    ]
    assert item.others == ("right 3",)


HOTSPOT = (
    '<qti-hotspot-interaction response-identifier="RESPONSE" max-choices="1">'
    '<qti-prompt>Where?</qti-prompt><img src="{src}" alt="A housing" width="200" height="100"/>'
    '<qti-hotspot-choice identifier="A" shape="circle" coords="40,50,20" hotspot-label="Neck"/>'
    '<qti-hotspot-choice identifier="B" shape="{shape}" coords="{coords}"/>'
    "</qti-hotspot-interaction>"
)


def test_hotspots_become_circles_and_a_changed_rectangle_is_told():
    body = HOTSPOT.format(src="../img/Housing%201.png", shape="rect", coords="100,10,140,50")

    imported = import_package(
        foreign_package(foreign_item(body), **{"img/Housing 1.png": picture()})
    )

    item = imported.bank.items[0]
    assert item.picture == "housing-1.png"
    assert imported.pictures["housing-1.png"] == picture()
    assert [(one.name, one.at, one.radius, one.correct) for one in item.places] == [
        ("Neck", (40, 50), 20, True),
        ("B", (120, 30), 20, False),
    ]
    assert any("rectangle" in what for what in told(imported.notes, Fate.CHANGED))


def test_a_polygon_leaves_the_item_out():
    body = HOTSPOT.format(src="a.png", shape="poly", coords="1,1,9,9,1,9")

    note = left_out(foreign_item(body), **{"items/a.png": picture()})

    assert "poly" in note.what
    assert note.remedy


def test_a_hotspot_without_its_picture_is_left_out():
    body = HOTSPOT.format(src="a.png", shape="circle", coords="120,50,20")

    assert "a.png" in left_out(foreign_item(body)).what


@pytest.mark.parametrize(
    ("item", "said"),
    [
        (foreign_item("<p>Nothing is asked.</p>"), "asks nothing"),
        (foreign_item(CHOICE_BODY + ENTRY), "asks 2 things"),
        (foreign_item(CHOICE_BODY, key=()), "no key"),
        (foreign_item(CHOICE_BODY, key=("Z",)), "no key"),
        (foreign_item(ENTRY, key=("camshaft",), declared=FLOAT), "camshaft"),
        (foreign_item(ENTRY, key=("INF",), declared=FLOAT), "INF"),
        (
            foreign_item('<qti-extended-text-interaction response-identifier="RESPONSE"/>', key=()),
            "extended-text",
        ),
        (foreign_item(ORDER, declared=ORDERED, key=("A", "B")), "only some"),
        (foreign_item(MATCH, declared=PAIRED, key=("L0 R0", "L1 R1")), "no partner"),
        (foreign_item(CHOICE_BODY.replace("The dipstick", "the tensioner.")), "option 2 text"),
        (
            foreign_item(CHOICE_BODY, more="<qti-template-processing/>"),
            "drawn anew",
        ),
        (
            b'<assessmentItem xmlns="http://www.imsglobal.org/xsd/imsqti_v2p1" identifier="x"/>',
            "no assessment item of QTI 3.0",
        ),
        (foreign_item(CHOICE_BODY.replace('"RESPONSE"', '"OTHER"')), "not declared"),
    ],
)
def test_what_can_t_be_an_item_here_is_left_out_with_why_and_what_to_do(item, said):
    note = left_out(item)

    assert said in f"{note.what} {note.why}"
    assert note.why
    assert note.remedy


def test_every_part_that_is_not_kept_is_told():
    body = (
        '<qti-rubric-block view="tutor" use="instructions"><qti-content-body><p>Say it slowly.</p>'
        "</qti-content-body></qti-rubric-block>"
        + CHOICE_BODY.replace("<em>chain</em>", "<math>x</math> chain")
        .replace('shuffle="true"', 'shuffle="false" orientation="vertical"')
        .replace("The dipstick", 'The <strong>dipstick</strong><img src="x.svg" alt=""/>')
    )
    more = (
        '<qti-modal-feedback outcome-identifier="F" identifier="late" show-hide="show">'
        "<qti-content-body>Read again.</qti-content-body></qti-modal-feedback>"
    )
    processing = (
        "<qti-response-processing><qti-set-outcome-value identifier='SCORE'>"
        "<qti-map-response identifier='RESPONSE'/></qti-set-outcome-value>"
        "</qti-response-processing>"
    )

    _, notes = only(foreign_item(body, more=more, processing=processing))

    said = " ".join(str(note) for note in notes)
    for part in (
        *("Say it slowly.", "<math>", "shuffle='false'", "orientation='vertical'", "<strong>"),
        *("<img>", "Read again.", "map-response"),
    ):
        assert part in said, part
    assert all(note.why and note.remedy for note in notes)


def test_credit_for_parts_is_told():
    mapping = (
        '</qti-correct-response><qti-mapping default-value="0">'
        '<qti-map-entry map-key="A" mapped-value="2"/>'
        '<qti-map-entry map-key="B" mapped-value="0.5"/></qti-mapping>'
    )
    item = foreign_item(CHOICE_BODY).replace(b"</qti-correct-response>", mapping.encode())

    _, notes = only(item)

    assert any("B 0.5" in what for what in told(notes, Fate.LOST))


def test_what_the_test_and_the_package_say_beyond_items_is_told():
    test = (
        '<qti-assessment-test xmlns="http://www.imsglobal.org/xsd/imsqtiasi_v3p0" '
        'identifier="Exam 1" title="An exam"><qti-test-part identifier="p" '
        'navigation-mode="linear" submission-mode="individual"><qti-time-limits max-time="60"/>'
        '<qti-assessment-section identifier="s" title="S" visible="true">'
        '<qti-selection select="1"/><qti-assessment-item-ref identifier="foreign" '
        'href="items/i0.xml"/><qti-assessment-item-ref identifier="gone" href="items/gone.xml"/>'
        "</qti-assessment-section></qti-test-part></qti-assessment-test>"
    )
    more = (
        '<resource identifier="t" type="imsqti_test_xmlv3p0" href="test.xml">'
        '<file href="test.xml"/></resource>'
        '<resource identifier="s" type="imsqti_stimulus_xmlv3p0" href="s.xml"/>'
        '<resource identifier="c" type="webcontent" href="look.css"/>'
    )
    package = zipped(
        {
            "imsmanifest.xml": manifest_of(["items/i0.xml"], more),
            "items/i0.xml": foreign_item(CHOICE_BODY),
            "test.xml": test.encode(),
            "look.css": b"p {}",
            "notes.txt": b"loose",
        }
    )

    imported = import_package(package)

    assert imported.bank.id == "exam-1"
    assert imported.bank.title == "An exam"
    said = " ".join(str(note) for note in imported.notes)
    for part in ("max-time=60", "select=1", "gone.xml", "stimulus", "look.css", "notes.txt"):
        assert part in said, part


def test_an_export_edited_elsewhere_follows_the_edit_and_tells_what_no_longer_fits():
    files = unzipped(sound_package())
    path = "items/belt-wet.xml"
    text = files[path].decode()
    text = text.replace("It is renewed and the leak is mended", "It is renewed")
    text = text.replace("A dry belt is found wet with engine oil", "A belt is oily")
    files[path] = text.encode()

    imported = import_package(zipped(files))

    item = imported.bank.items[0]
    assert item.options[0].text == "It is renewed"
    assert item.options[0].correct
    assert item.prompt.startswith("A dry belt is") is False
    assert item.topic == "wear"


def test_unknown_resources_and_missing_files_leave_the_rest_whole():
    package = zipped(
        {
            "imsmanifest.xml": manifest_of(["items/i0.xml", "items/i1.xml"]),
            "items/i0.xml": foreign_item(CHOICE_BODY),
        }
    )

    imported = import_package(package)

    assert imported.items_kept == 1
    assert imported.items_found == 2
    assert any(note.item == "items/i1.xml" for note in imported.notes)
