"""Items of others: what no item here can hold is left out or told, item by item."""

import pytest
from qti_foreign_items import (
    ENTRY,
    FLOAT,
    HOTSPOT,
    MATCH,
    ORDER,
    ORDERED,
    PAIRED,
    left_out,
    only,
    told,
)
from qti_packages import (
    CHOICE_BODY,
    foreign_item,
    manifest_of,
    picture,
    sound_package,
    unzipped,
    zipped,
)

from quizsvc.interchange.qti.package import import_package
from quizsvc.interchange.qti.report import Fate


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
