"""Packages for tests: banks of ours packed, and foreign items written by hand for the tests."""

from __future__ import annotations

import io
import zipfile
from functools import cache

from items.bank_texts import EVERY_KIND
from lxml import etree
from PIL import Image

from quizsvc.interchange.qti.package import export_package
from quizsvc.items.banks.loading import read_bank

NS = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
CP = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
MATCH_CORRECT = "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/match_correct.xml"


def picture(_name: str = "", *, form: str = "PNG", size: tuple[int, int] = (200, 100)) -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", size, "white").save(kept, form)
    return kept.getvalue()


@cache
def every_kind():
    bank, faults = read_bank(EVERY_KIND)
    assert not faults
    return bank.written


@cache
def sound_package() -> bytes:
    return export_package(every_kind(), picture)


def unzipped(package: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(package)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def zipped(files: dict[str, bytes]) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return kept.getvalue()


def roots(package: bytes) -> dict[str, etree._Element]:
    files = unzipped(package)
    return {name: etree.fromstring(one) for name, one in files.items() if name.endswith(".xml")}


def manifest_of(items: list[str], more: str = "") -> bytes:
    resources = "".join(
        f'<resource identifier="r-{i}" type="imsqti_item_xmlv3p0" href="{path}">'
        f'<file href="{path}"/></resource>'
        for i, path in enumerate(items)
    )
    return (
        f'<manifest xmlns="{CP}" identifier="m-1"><metadata><schema>QTI Package</schema>'
        "<schemaversion>3.0.0</schemaversion></metadata><organizations/>"
        f"<resources>{resources}{more}</resources></manifest>"
    ).encode()


def foreign_item(
    body: str,
    *,
    identifier: str = "foreign",
    declared: str = 'cardinality="single" base-type="identifier"',
    key: tuple[str, ...] = ("A",),
    processing: str = f'<qti-response-processing template="{MATCH_CORRECT}"/>',
    more: str = "",
    attributes: str = "",
) -> bytes:
    values = "".join(f"<qti-value>{one}</qti-value>" for one in key)
    correct = f"<qti-correct-response>{values}</qti-correct-response>" if key else ""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<qti-assessment-item xmlns="{NS}" identifier="{identifier}" title="T" '
        f'time-dependent="false" {attributes}>'
        f'<qti-response-declaration identifier="RESPONSE" {declared}>{correct}'
        "</qti-response-declaration>"
        '<qti-outcome-declaration identifier="SCORE" cardinality="single" base-type="float"/>'
        f"<qti-item-body>{body}</qti-item-body>{processing}{more}</qti-assessment-item>"
    ).encode()


def foreign_package(*items: bytes, **files: bytes) -> bytes:
    paths = [f"items/i{i}.xml" for i in range(len(items))]
    named = dict(zip(paths, items, strict=True))
    return zipped({"imsmanifest.xml": manifest_of(paths)} | named | files)


CHOICE_BODY = (
    "<p>Which part holds the <em>chain</em> tight?</p>"
    '<qti-choice-interaction response-identifier="RESPONSE" shuffle="true" max-choices="1">'
    "<qti-prompt>Choose one.</qti-prompt>"
    '<qti-simple-choice identifier="A">The tensioner</qti-simple-choice>'
    '<qti-simple-choice identifier="B">The dipstick</qti-simple-choice>'
    "</qti-choice-interaction>"
)
