"""The package's own list of its files, and the test that holds a bank's items in order.

Sources: QTI 3.0 Best Practices and Implementation Guide (content packaging: `imsmanifest.xml` at
the top, each file a resource with its type, pictures as dependencies) and the information model
(AssessmentTest, AssessmentSection).
"""

from __future__ import annotations

from typing import Any

from lxml import etree

from quizsvc.interchange.qti.names import (
    QTI,
    SCHEMA_PLACE,
    XSI,
    Element,
    element,
    identifier_of,
)
from quizsvc.interchange.qti.writing import rubric, schema_location, stated
from quizsvc.items.banks.schema import AnyItem, WrittenBank
from quizsvc.items.model import Kind

MANIFEST = "imsmanifest.xml"
TEST = "test.xml"
CP = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
LOM = "http://ltsc.ieee.org/xsd/LOM"
QTI_METADATA = "http://www.imsglobal.org/xsd/imsqti_metadata_v3p0"
ITEM_TYPE, TEST_TYPE, PICTURE_TYPE = "imsqti_item_xmlv3p0", "imsqti_test_xmlv3p0", "webcontent"

_NAMESPACES: dict[Any, str] = {None: CP, "lom": LOM, "qtim": QTI_METADATA}
_SCHEMAS = (
    (CP, SCHEMA_PLACE + "imsqtiv3p0_imscpv1p2_v1p0.xsd"),
    (QTI_METADATA, SCHEMA_PLACE + "imsqti_metadatav3p0_v1p0.xsd"),
    (LOM, "https://purl.imsglobal.org/spec/md/v1p3/schema/xsd/imsmd_loose_v1p3p2.xsd"),
)
_INTERACTIONS = {
    Kind.ONE_CHOICE: "choiceInteraction",
    Kind.SEVERAL_CHOICES: "choiceInteraction",
    Kind.NUMBER: "textEntryInteraction",
    Kind.ORDER: "orderInteraction",
    Kind.MATCH: "matchInteraction",
    Kind.POINT: "hotspotInteraction",
}


def item_path(item: AnyItem) -> str:
    return f"items/{item.id}.xml"


def picture_path(name: str) -> str:
    return f"items/pictures/{name}"


def manifest_element(bank: WrittenBank, pictures: list[str]) -> Element:
    """Return the manifest: the test, its items with their pictures, the pictures."""
    root = etree.Element(f"{{{CP}}}manifest", nsmap=_NAMESPACES)
    root.set("identifier", f"package-{bank.id}")
    places = " ".join(f"{namespace} {place}" for namespace, place in _SCHEMAS)
    root.set(f"{{{XSI}}}schemaLocation", places)
    metadata = _add(root, "metadata")
    _add(metadata, "schema").text = "QTI Package"
    _add(metadata, "schemaversion").text = "3.0.0"
    _described(metadata, bank.title, [])
    _add(root, "organizations")
    resources = _add(root, "resources")
    test = _resource(resources, f"test-{bank.id}", TEST_TYPE, TEST)
    for item in bank.items:
        _add(test, "dependency").set("identifierref", _item_resource(item))
        _item(resources, item)
    for name in pictures:
        _resource(resources, _picture_resource(name), PICTURE_TYPE, picture_path(name))
    return root


def test_element(bank: WrittenBank) -> Element:
    """Return the test: one section of all items, with what the bank says to all of them."""
    references = [
        element("qti-assessment-item-ref", identifier=identifier_of(item.id), href=item_path(item))
        for item in bank.items
    ]
    section = element(
        "qti-assessment-section",
        rubric("author", _about(bank)),
        *references,
        identifier="items",
        title=bank.title,
        visible="true",
    )
    part = element(
        "qti-test-part",
        section,
        identifier="part",
        navigation_mode="nonlinear",
        submission_mode="individual",
    )
    root = element("qti-assessment-test", part, identifier=identifier_of(bank.id), title=bank.title)
    schema_location(root, QTI, "imsqti_asiv3p0_v1p0.xsd")
    return root


def _about(bank: WrittenBank) -> list[Element]:
    lines = [stated("bank-title", bank.title), stated("bank-author", bank.author)]
    if bank.about:
        lines.append(stated("bank-about", bank.about))
    if bank.caution_first:
        lines.append(stated("bank-caution-first", bank.caution_first))
    lines += [stated("bank-caution", text, name=name) for name, text in bank.cautions.items()]
    return lines


def _item(resources: Element, item: AnyItem) -> None:
    made = etree.SubElement(resources, f"{{{CP}}}resource")
    metadata = _add(made, "metadata")
    qti = etree.SubElement(metadata, f"{{{QTI_METADATA}}}qtiMetadata")
    for name, value in (
        ("itemTemplate", "false"),
        ("composite", "false"),
        ("interactionType", _INTERACTIONS[Kind(item.kind)]),
        ("feedbackType", "nonadaptive"),
    ):
        etree.SubElement(qti, f"{{{QTI_METADATA}}}{name}").text = value
    _described(metadata, item.id, [item.topic, str(item.level), *item.tags], str(item.version))
    _filled(made, _item_resource(item), ITEM_TYPE, item_path(item))
    if item.picture:
        _add(made, "dependency").set("identifierref", _picture_resource(item.picture))


def _described(metadata: Element, title: str, words: list[str], version: str = "") -> None:
    """Add a description by IEEE 1484.12.3 (learning object metadata)."""
    lom = etree.SubElement(metadata, f"{{{LOM}}}lom")
    general = etree.SubElement(lom, f"{{{LOM}}}general")
    _string(etree.SubElement(general, f"{{{LOM}}}title"), title)
    for word in words:
        _string(etree.SubElement(general, f"{{{LOM}}}keyword"), word)
    if version:
        cycle = etree.SubElement(lom, f"{{{LOM}}}lifeCycle")
        _string(etree.SubElement(cycle, f"{{{LOM}}}version"), version)


def _string(parent: Element, text: str) -> None:
    etree.SubElement(parent, f"{{{LOM}}}string").text = text


def _resource(resources: Element, identifier: str, kind: str, path: str) -> Element:
    made = etree.SubElement(resources, f"{{{CP}}}resource")
    _filled(made, identifier, kind, path)
    return made


def _filled(made: Element, identifier: str, kind: str, path: str) -> None:
    made.set("identifier", identifier)
    made.set("type", kind)
    made.set("href", path)
    _add(made, "file").set("href", path)


def _add(parent: Element, tag: str) -> Element:
    return etree.SubElement(parent, f"{{{CP}}}{tag}")


def _item_resource(item: AnyItem) -> str:
    return f"item-{item.id}"


def _picture_resource(name: str) -> str:
    return f"picture-{name}"
