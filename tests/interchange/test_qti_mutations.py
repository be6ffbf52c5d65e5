"""A package with anything changed in it is read, told about or refused; nothing else happens."""

from functools import cache

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree
from mutations import counted, mutated
from qti_packages import every_kind, sound_package, unzipped, zipped

from quizsvc.errors import InputError
from quizsvc.interchange.bank_csv import export_csv, import_csv
from quizsvc.interchange.qti.package import import_package
from quizsvc.items.banks.bank import bank_of
from quizsvc.items.banks.keys import key_faults

FILES = unzipped(sound_package())
XML_FILES = sorted(name for name in FILES if name.endswith(".xml"))
ROUGH = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])


def read_or_refused(package, reader=import_package):
    """Say whether it was read; what was kept must be fit for use, what was not be told."""
    try:
        imported = reader(package)
    except InputError as refused:
        told = refused
    else:
        return judged(imported)
    assert told.problem
    assert told.remedy
    return "refused"


def judged(imported):
    kept = imported.items_kept
    if imported.bank is not None:
        assert key_faults(bank_of(imported.bank, "", {})) == ()
    if kept < imported.items_found:
        assert imported.notes
    return "read" if kept == imported.items_found else "told about"


@cache
def elements_of(name):
    return len(list(etree.fromstring(FILES[name]).iter()))


def test_a_package_with_bytes_changed_is_read_or_refused(say):
    with counted(say, "packages with bytes changed") as came:

        @ROUGH
        @given(mutated(sound_package()))
        def each(package):
            came[read_or_refused(package)] += 1

        each()


def test_a_file_of_the_package_with_bytes_changed_is_read_or_refused(say):
    with counted(say, "packages with bytes of a file changed") as came:

        @ROUGH
        @given(
            st.sampled_from(XML_FILES).flatmap(
                lambda name: st.tuples(st.just(name), mutated(FILES[name]))
            )
        )
        def each(changed):
            name, content = changed
            came[read_or_refused(zipped(FILES | {name: content}))] += 1

        each()


def test_a_file_of_the_package_with_parts_changed_is_read_told_or_refused(say):
    with counted(say, "packages with elements of a file changed") as came:

        @ROUGH
        @given(data=st.data(), name=st.sampled_from(XML_FILES))
        def each(data, name):
            root = etree.fromstring(FILES[name])
            for _ in range(data.draw(st.integers(1, 3))):
                change(data, list(root.iter()))
            came[read_or_refused(zipped(FILES | {name: etree.tostring(root)}))] += 1

        each()


def change(data, parts):
    part = parts[data.draw(st.integers(0, len(parts) - 1))]
    other = parts[data.draw(st.integers(0, len(parts) - 1))]
    match data.draw(st.sampled_from(("remove", "move", "rename", "attribute", "value", "text"))):
        case "remove" if part.getparent() is not None:
            part.getparent().remove(part)
        case "move" if (
            other not in {*part.iterdescendants(), part} and part.getparent() is not None
        ):
            other.append(part)
        case "rename":
            part.tag = other.tag
        case "attribute" if part.attrib:
            del part.attrib[data.draw(st.sampled_from(sorted(part.attrib)))]
        case "value" if part.attrib:
            key = data.draw(st.sampled_from(sorted(part.attrib)))
            part.set(
                key, data.draw(st.sampled_from(("", "0", "-1", "x y", "nan", "RESPONSE", "1e999")))
            )
        case "text":
            part.text = data.draw(st.sampled_from(("", "0", "nan", "inf", "A B C", "☃" * 500)))


def test_a_table_with_bytes_changed_is_read_told_or_refused(say):
    with counted(say, "tables of items with bytes changed") as came:

        @ROUGH
        @given(mutated(export_csv(every_kind())[0].encode()))
        def each(content):
            came[read_or_refused(content, import_csv)] += 1

        each()
