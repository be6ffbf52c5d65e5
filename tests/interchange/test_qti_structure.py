"""Exports have the structure that QTI 3.0 asks for.

Source: 1EdTech QTI 3.0, Assessment, Section and Item Information Model (2022), by class name, and
the Best Practices and Implementation Guide for packaging. The official schemas are not ours to
distribute; with a folder of them in QUIZSVC_QTI_SCHEMAS each exported file is also validated.
"""

import os
import re
from collections import Counter
from pathlib import Path

import pytest
from lxml import etree
from qti_packages import CP, NS, roots, sound_package

from quizsvc.interchange.qti.package import export_package, picture_in
from quizsvc.items.banks.loading import MEDIA, shipped_banks

SCHEMAS = os.environ.get("QUIZSVC_QTI_SCHEMAS", "")
BANKS = sorted(shipped_banks())
# AssessmentItem: its parts and their order; of those, the ones we write.
ITEM_ORDER = [
    "qti-response-declaration",
    "qti-outcome-declaration",
    "qti-item-body",
    "qti-response-processing",
    "qti-modal-feedback",
]
# Attributes each class must have.
REQUIRED = {
    "qti-assessment-item": {"identifier", "title", "time-dependent"},
    "qti-response-declaration": {"identifier", "cardinality", "base-type"},
    "qti-outcome-declaration": {"identifier", "cardinality", "base-type"},
    "qti-choice-interaction": {"response-identifier"},
    "qti-order-interaction": {"response-identifier"},
    "qti-match-interaction": {"response-identifier"},
    "qti-hotspot-interaction": {"response-identifier"},
    "qti-text-entry-interaction": {"response-identifier"},
    "qti-simple-choice": {"identifier"},
    "qti-simple-associable-choice": {"identifier", "match-max"},
    "qti-hotspot-choice": {"identifier", "shape", "coords"},
    "qti-modal-feedback": {"identifier", "outcome-identifier", "show-hide"},
    "qti-rubric-block": {"view"},
    "qti-equal": {"tolerance-mode"},
    "qti-index": {"n"},
    "qti-base-value": {"base-type"},
    "qti-variable": {"identifier"},
    "qti-correct": {"identifier"},
    "qti-set-outcome-value": {"identifier"},
    "qti-assessment-test": {"identifier", "title"},
    "qti-test-part": {"identifier", "navigation-mode", "submission-mode"},
    "qti-assessment-section": {"identifier", "title", "visible"},
    "qti-assessment-item-ref": {"identifier", "href"},
    "img": {"src", "alt"},
}
# ResponseDeclaration of each interaction: cardinality and base type.
DECLARED = {
    "qti-choice-interaction": {("single", "identifier"), ("multiple", "identifier")},
    "qti-text-entry-interaction": {("single", "float")},
    "qti-order-interaction": {("ordered", "identifier")},
    "qti-match-interaction": {("multiple", "directedPair")},
    "qti-hotspot-interaction": {("single", "identifier")},
}
IDENTIFIER = re.compile(r"[A-Za-z_][\w.-]*")  # characterModel Identifier
BODY_ONLY = "data-"  # own data stand on body elements, never on declarations or rules


@pytest.fixture(scope="module", params=["every kind", *BANKS])
def package(request):
    if request.param == "every kind":
        return roots(sound_package())
    bank = shipped_banks()[request.param].written
    return roots(export_package(bank, picture_in(MEDIA)))


@pytest.fixture
def items(package):
    return [root for name, root in package.items() if name.startswith("items/")]


def tag(one):
    return one.tag.rpartition("}")[2]


def found(root, name):
    return list(root.iter(f"{{{NS}}}{name}"))


def test_parts_of_an_item_stand_in_their_order(items):
    for root in items:
        places = [ITEM_ORDER.index(tag(part)) for part in root]

        assert tag(root) == "qti-assessment-item"
        assert places == sorted(places)
        assert Counter(map(tag, root))["qti-item-body"] == 1


def test_every_element_is_of_the_namespace_and_has_its_required_attributes(package):
    for name, root in package.items():
        if name == "imsmanifest.xml":
            continue
        for one in root.iter():
            assert one.tag.startswith(f"{{{NS}}}")
            assert REQUIRED.get(tag(one), set()) <= set(one.attrib), tag(one)


def test_identifiers_are_well_formed_and_each_stands_once_in_its_place(items):
    for root in items:
        for one in root.iter():
            if one.get("identifier") is not None:
                assert IDENTIFIER.fullmatch(one.get("identifier"))
        for kind in ("qti-simple-choice", "qti-hotspot-choice", "qti-simple-associable-choice"):
            names = [one.get("identifier") for one in found(root, kind)]
            assert len(names) == len(set(names))


def test_each_item_has_one_interaction_that_agrees_with_its_declaration(items):
    for root in items:
        asked = [one for one in root.iter() if tag(one).endswith("-interaction")]
        declared = found(root, "qti-response-declaration")

        assert len(asked) == len(declared) == 1
        assert asked[0].get("response-identifier") == declared[0].get("identifier")
        form = (declared[0].get("cardinality"), declared[0].get("base-type"))
        assert form in DECLARED[tag(asked[0])]


def test_every_correct_response_names_what_can_be_answered(items):
    for root in items:
        offered = {
            one.get("identifier")
            for kind in ("qti-simple-choice", "qti-hotspot-choice", "qti-simple-associable-choice")
            for one in found(root, kind)
        }
        values = [one.text for one in found(root.find("{*}qti-response-declaration"), "qti-value")]

        assert values
        for value in values:
            if offered:
                assert set(value.split()) <= offered
            else:
                float(value)


def test_rules_use_only_declared_variables_and_given_feedback(items):
    for root in items:
        outcomes = {one.get("identifier") for one in found(root, "qti-outcome-declaration")}
        known = outcomes | {"RESPONSE"}

        assert {one.get("identifier") for one in found(root, "qti-variable")} <= known
        assert {one.get("identifier") for one in found(root, "qti-set-outcome-value")} <= outcomes
        modals = found(root, "qti-modal-feedback")
        assert {one.get("outcome-identifier") for one in modals} <= outcomes
        assert all(tag(one[0]) == "qti-content-body" for one in modals)


def test_own_data_stand_only_on_elements_of_the_body_and_of_feedback(items):
    allowed = {"qti-item-body", "qti-modal-feedback"}
    for root in items:
        for one in root.iter():
            if any(name.startswith(BODY_ONLY) for name in one.attrib):
                assert any(tag(above) in allowed for above in one.iterancestors())


def test_the_key_is_in_no_element_that_a_candidate_sees_before_answering(items):
    for root in items:
        for one in root.find("{*}qti-item-body").iter():
            if tag(one) == "qti-rubric-block":
                assert one.get("view") in {"author", "candidate"}
            assert "correct" not in one.attrib


def test_the_manifest_names_every_file_once_and_every_dependency(package):
    manifest = package["imsmanifest.xml"]
    resources = list(manifest.iter(f"{{{CP}}}resource"))
    names = [one.get("identifier") for one in resources]
    hrefs = [one.get("href") for one in resources]

    assert [tag(part) for part in manifest] == ["metadata", "organizations", "resources"]
    assert manifest.find(f"{{{CP}}}metadata/{{{CP}}}schema").text == "QTI Package"
    assert len(set(names)) == len(names)
    assert set(package) - {"imsmanifest.xml"} <= set(hrefs)
    for one in resources:
        assert one.find(f"{{{CP}}}file").get("href") == one.get("href")
    used = {one.get("identifierref") for one in manifest.iter(f"{{{CP}}}dependency")}
    assert used <= set(names)


def test_the_test_refers_to_every_item(package):
    references = found(package["test.xml"], "qti-assessment-item-ref")

    for one in references:
        assert package[one.get("href")].get("identifier") == one.get("identifier")
    assert len(references) == len([name for name in package if name.startswith("items/")])


if SCHEMAS:  # a test that is not there is no skipped test: the schemas can't be shipped

    @pytest.mark.parametrize(
        ("files", "schema"),
        [
            (r"items/.*|test\.xml", "imsqti_asiv3p0*.xsd"),
            (r"imsmanifest\.xml", "imsqtiv3p0_imscpv1p2*.xsd"),
        ],
    )
    def test_every_exported_file_is_valid_by_the_official_schema(package, files, schema):
        path = max(Path(SCHEMAS).glob(schema))
        checked = etree.XMLSchema(file=str(path))

        for name, root in package.items():
            if re.fullmatch(files, name):
                checked.assertValid(root.getroottree())
