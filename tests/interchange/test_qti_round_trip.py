"""What is exported and read again is the same bank: nothing is lost, nothing is told."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from qti_packages import every_kind, picture, sound_package, unzipped, zipped

from quizsvc.errors import InputError
from quizsvc.interchange.qti.package import export_package, import_package, picture_in
from quizsvc.items.banks.loading import MEDIA, shipped_banks
from quizsvc.items.banks.schema import WrittenBank

BANKS = sorted(shipped_banks())
# What XML 1.0 can carry: no control characters but tab and line ends, no surrogates.
CARRIED = st.characters(exclude_categories=("Cs", "Cc", "Cn"), include_characters="\t\n\r\u0085")
TEXT = st.text(CARRIED, max_size=60)
LINE = st.text(CARRIED, min_size=1, max_size=40)


@pytest.mark.parametrize("bank_id", BANKS)
def test_every_shipped_item_comes_back_equal_with_its_pictures_and_nothing_to_tell(bank_id):
    bank = shipped_banks()[bank_id].written

    imported = import_package(export_package(bank, picture_in(MEDIA)))

    assert imported.bank == bank
    assert imported.notes == ()
    assert imported.items_found == len(bank.items)
    shown = {item.picture for item in bank.items if item.picture}
    assert imported.pictures == {name: (MEDIA / name).read_bytes() for name in shown}


def test_a_bank_of_every_kind_comes_back_equal():
    imported = import_package(sound_package())

    assert imported.bank == every_kind()
    assert imported.notes == ()


def test_the_same_bank_gives_the_same_bytes():
    assert export_package(every_kind(), picture) == sound_package()


def test_indenting_the_files_of_a_package_changes_nothing():
    from lxml import etree  # noqa: PLC0415 - only here

    files = unzipped(sound_package())
    for name, content in files.items():
        if name.startswith("items/") and name.endswith(".xml"):
            root = etree.fromstring(content, etree.XMLParser(remove_blank_text=True))
            etree.indent(root, space="      ")
            files[name] = etree.tostring(root, encoding="utf-16", xml_declaration=True)

    imported = import_package(zipped(files))

    assert imported.bank == every_kind()


@settings(max_examples=60)
@given(
    prompt=LINE,
    options=st.lists(
        LINE,
        min_size=2,
        max_size=4,
        unique_by=str.casefold,
    ),
    rationale=TEXT,
    caution=TEXT,
    reference=LINE,
    alt=TEXT,
)
def test_texts_of_any_spacing_and_script_come_back_to_the_letter(
    prompt, options, rationale, caution, reference, alt
):
    bank = bank_with(
        kind="one choice",
        prompt=prompt,
        reference=reference,
        caution=caution,
        picture_alt=alt,
        options=[
            {"text": text, "correct": place == 0, "rationale": rationale}
            for place, text in enumerate(options)
        ],
    )

    imported = import_package(export_package(bank, picture))

    assert imported.bank == bank or told_unsound(imported)


def told_unsound(imported):
    """Options that differ in end marks alone make an item unusable; that must be told."""
    return imported.bank is None and [note.fate for note in imported.notes] == ["left out"]


@settings(max_examples=60)
@given(
    value=st.floats(allow_nan=False, allow_infinity=False),
    tolerance=st.floats(min_value=0, max_value=1e300, allow_nan=False),
    decimals=st.integers(0, 6),
    unit=st.text(CARRIED, max_size=20),
)
def test_numbers_of_any_size_come_back_exactly(value, tolerance, decimals, unit):
    answer = {"value": value, "tolerance": tolerance, "decimals": decimals, "unit": unit}
    bank = bank_with(kind="number", answer=answer)

    imported = import_package(export_package(bank, picture))

    assert imported.bank == bank


def test_places_between_pixels_and_several_right_ones_come_back_exactly():
    places = [
        {"name": "a", "at": (10.25, 20.5), "radius": 3.125, "correct": True, "rationale": "Why."},
        {"name": "b", "at": (90.0, 20.0), "radius": 4.0, "correct": True},
        {"name": "c", "at": (50.0, 70.0), "radius": 4.5, "rationale": "Not there."},
    ]
    bank = bank_with(
        kind="point on a figure", places=places, picture="2-wheels.png", picture_alt="Two\nwheels"
    )

    imported = import_package(export_package(bank, picture))

    assert imported.bank == bank
    assert imported.notes == ()


def test_names_that_begin_with_digits_come_back():
    sequence = [{"id": f"{i}-bolt", "text": f"Bolt {i}"} for i in range(3)]
    before = [{"first": "0-bolt", "later": "1-bolt"}, {"first": "1-bolt", "later": "2-bolt"}]
    bank = bank_with(id="1-first", kind="order", sequence=sequence, before=before)

    assert import_package(export_package(bank, picture)).bank == bank


def test_a_control_character_is_refused_by_item_and_field():
    bank = bank_with(kind="number", answer={"value": 1, "tolerance": 0, "rationale": "a\x01b"})

    with pytest.raises(InputError, match="control character") as refused:
        export_package(bank, picture)

    assert refused.value.field == "one answer rationale"


def test_a_picture_that_is_not_there_is_refused_by_name(tmp_path):
    with pytest.raises(InputError, match="no such file") as refused:
        export_package(every_kind(), picture_in(tmp_path))

    assert refused.value.value == "wheels.png"


def bank_with(**item):
    stated = {"id": "one", "topic": "wear", "level": "apply", "prompt": "P?", "reference": "r"}
    return WrittenBank(schema_version=1, id="9-lives", title="T", author="A", items=[stated | item])
