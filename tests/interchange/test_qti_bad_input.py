"""Packages that are broken or mean harm: each is refused with what, where and what to do."""

import io
import zipfile

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

from quizsvc.errors import InputError
from quizsvc.interchange.qti import archive, xml_safety
from quizsvc.interchange.qti.archive import inside, pack, unpack
from quizsvc.interchange.qti.package import import_package
from quizsvc.interchange.qti.xml_safety import parse_xml

ITEM = foreign_item(CHOICE_BODY)
BOMB = (
    '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a0 "ha">'
    + "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
    + "]><a>&a9;</a>"
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]><a>&x;</a>'


def refused(package, match):
    with pytest.raises(InputError, match=match) as error:
        import_package(package)
    assert error.value.field
    assert error.value.remedy
    return error.value


@pytest.mark.parametrize(
    "text",
    [BOMB, OUTSIDE, '<!DOCTYPE a SYSTEM "http://invalid.example/a.dtd"><a/>', "<!DOCTYPE a><a/>"],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_document_types_and_entities_are_refused_in_any_encoding(text, encoding):
    declared = text.replace('version="1.0"?', f'version="1.0" encoding="{encoding}"?')

    error = refused(foreign_package(declared.encode(encoding)), "document type")

    assert error.value == "items/i0.xml"


def test_an_entity_bomb_as_manifest_is_refused():
    refused(zipped({"imsmanifest.xml": BOMB.encode()}), "document type")


def test_deep_nesting_is_refused():
    deep = "<div>" * 5000 + "</div>" * 5000

    refused(foreign_package(foreign_item(deep + CHOICE_BODY)), "nested deeper")
    shallow_for_libxml = "<div>" * 100 + "</div>" * 100
    refused(foreign_package(foreign_item(shallow_for_libxml + CHOICE_BODY)), "nested deeper")


def test_too_many_elements_are_refused():
    many = b"<a>" + b"<b/>" * (xml_safety.OF_AN_ITEM.most_elements + 1) + b"</a>"

    with pytest.raises(InputError, match="elements"):
        parse_xml(many, "a.xml")


@pytest.mark.parametrize(
    "path",
    ["../evil.xml", "/etc/evil.xml", "a/../../evil.xml", "C:\\evil.xml", "..\\evil.xml"],
)
def test_paths_in_the_archive_that_lead_out_are_refused(path):
    kept = io.BytesIO(foreign_package(ITEM))
    with zipfile.ZipFile(kept, "a") as changed:
        info = zipfile.ZipInfo("x")
        info.filename = path
        changed.writestr(info, b"x")

    refused(kept.getvalue(), "leads out")


@pytest.mark.parametrize("href", ["../../etc/passwd", "%2e%2e/%2e%2e/x", "..\\..\\x"])
def test_references_that_lead_out_are_refused_or_told(href):
    refused(zipped({"imsmanifest.xml": manifest_of([href])}), "leads out")
    body = CHOICE_BODY.replace("<p>", f'<p><img src="../{href}" alt="x"/>', 1)

    imported = import_package(foreign_package(foreign_item(body)))

    assert any("leads out" in note.why for note in imported.notes)
    assert imported.pictures == {}


def test_a_link_in_the_archive_is_refused():
    kept = io.BytesIO(foreign_package(ITEM))
    with zipfile.ZipFile(kept, "a") as changed:
        info = zipfile.ZipInfo("items/link.xml")
        info.external_attr = 0o120777 << 16
        changed.writestr(info, "/etc/passwd")

    refused(kept.getvalue(), "link")


def test_zip_bombs_are_refused_by_what_comes_out_whatever_the_header_says():
    refused(pack({"imsmanifest.xml": manifest_of([]), "big": bytes(15_000_000)}), "times as large")
    refused(pack({"big": bytes(archive.MOST_FILE_BYTES + 1)}), "unpacked it has more")


def test_too_many_files_are_refused_before_they_are_listed(monkeypatch):
    monkeypatch.setattr(archive, "MOST_FILES", 5)

    refused(zipped({f"f{i}": b"" for i in range(6)}), "more than 5 files")


def test_too_much_in_all_is_refused(monkeypatch):
    monkeypatch.setattr(archive, "MOST_UNPACKED", 1000)

    refused(zipped({f"f{i}": b"x" * 300 for i in range(4)}), "unpacked it has more")


def test_a_file_twice_in_the_archive_is_refused():
    kept = io.BytesIO(foreign_package(ITEM))
    with zipfile.ZipFile(kept, "a") as changed, pytest.warns(UserWarning, match="Duplicate"):
        changed.writestr("items/i0.xml", ITEM)

    refused(kept.getvalue(), "twice")


def test_identifiers_twice_are_refused_by_name():
    error = refused(foreign_package(ITEM, ITEM), "same identifier")
    assert error.value == "foreign"
    double = manifest_of(["a.xml"]).replace(
        b"</resources>", b'<resource identifier="r-0" type="webcontent"/></resources>'
    )
    assert refused(zipped({"imsmanifest.xml": double, "a.xml": ITEM}), "two resources")


@pytest.mark.parametrize(
    "broken",
    [
        ITEM[:-30],
        b"",
        b"no XML at all",
        ITEM.replace(b"UTF-8", b"no-such-code"),
        ITEM.replace(b"UTF-8", b"UTF-16"),
        ITEM.replace(b"dipstick", b"dipst\xff\xfeck"),
        b"\xef\xbb\xbf" * 2 + ITEM,
        ITEM.replace(b"dipstick", b"&undeclared;"),
        ITEM.replace(b"dipstick", b"\x00"),
    ],
)
def test_xml_that_is_broken_or_wrongly_encoded_is_refused_with_its_file(broken):
    assert refused(foreign_package(broken), "XML").value == "items/i0.xml"


@pytest.mark.parametrize("length", [0, 3, 100, 1000, -1, -30])
def test_a_truncated_package_is_refused(length):
    refused(sound_package()[:length], "zip archive")


def test_a_package_without_manifest_is_refused():
    refused(zipped({"items/i0.xml": ITEM}), "manifest")


def test_an_encrypted_archive_is_refused():
    package = bytearray(zipped({"imsmanifest.xml": manifest_of([])}))
    package[6] |= 1
    package[package.rfind(b"PK\x01\x02") + 8] |= 1

    refused(bytes(package), "zip archive")


def test_a_package_without_items_gives_no_bank_and_no_error():
    imported = import_package(zipped({"imsmanifest.xml": manifest_of([])}))

    assert imported.bank is None
    assert imported.items_found == 0


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"<svg/>", "no picture"),
        (picture()[:60], "no picture"),
        (picture(form="GIF"), "no picture"),
    ],
)
def test_a_picture_that_is_none_is_told_and_left_behind(content, said):
    body = CHOICE_BODY.replace("<p>", '<p><img src="a.png" alt="x"/>', 1)

    imported = import_package(foreign_package(foreign_item(body), **{"items/a.png": content}))

    assert imported.items_kept == 1
    assert imported.bank.items[0].picture == ""
    assert any(said in note.why for note in imported.notes)


def test_a_picture_of_too_many_pixels_is_told_without_being_decoded():
    body = CHOICE_BODY.replace("<p>", '<p><img src="a.png" alt="x"/>', 1)
    content = picture(size=(9000, 9000))

    imported = import_package(foreign_package(foreign_item(body), **{"items/a.png": content}))

    assert any("pixels" in note.why for note in imported.notes)


def test_what_is_packed_is_unpacked():
    assert unpack(pack({"a/b": b"1", "c": b""})) == {"a/b": b"1", "c": b""}
    assert inside("items", "./pictures/a.png") == "items/pictures/a.png"
    assert unzipped(pack({"a": b"1"})) == {"a": b"1"}
