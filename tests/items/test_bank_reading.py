"""From the text of a bank file to entries, or to what is wrong with it and where."""

import pytest
from bank_texts import CHOICE, EVERY_KIND, HEAD, MATCH, NUMBER, ORDER, POINT, SEVERAL

from quizsvc.errors import InputError, NotFoundError
from quizsvc.items.banks.lines import line_numbers, line_of
from quizsvc.items.banks.loading import SHIPPED, load_bank, load_banks, read_bank, shipped_banks
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.model import Kind, Level

GASKET_RULE = next(line for line in ORDER.splitlines() if 'first = "gasket"' in line)


def faults_of(text):
    return read_bank(text, "bank.toml")[1]


def only_fault(text):
    (fault,) = faults_of(text)
    return fault


def line_with(text, words):
    (number,) = [n for n, line in enumerate(text.splitlines(), 1) if words in line]
    return number


def entry_of(text):
    bank, faults = read_bank(text)
    assert faults == ()
    return bank.entries[0]


def test_a_sound_bank_of_every_kind_is_read_without_a_fault():
    bank, faults = read_bank(EVERY_KIND)

    assert faults == ()
    assert [entry.written.kind for entry in bank.entries] == [
        "one choice",
        "several choices",
        "number",
        "order",
        "match",
        "point on a figure",
    ]


def test_a_syntax_error_names_line_and_column():
    fault = only_fault(EVERY_KIND.replace('id = "belt-wet"', 'id = "belt-wet'))

    assert fault.check == "syntax"
    assert fault.line == line_with(EVERY_KIND, 'id = "belt-wet"')
    assert fault.column > 1


@pytest.mark.parametrize(
    ("good", "bad", "field", "value", "remedy"),
    [
        ('topic = "wear"', 'topic = "weather"', "topic", "weather", "use one of: cycle"),
        ('level = "apply"', 'level = "hard"', "level", "hard", "'recall', 'apply' or 'diagnose'"),
        ('kind = "one choice"', 'kind = "two choice"', "kind", "two choice", "one choice"),
        ('id = "belt-wet"', 'id = "Belt wet"', "id", "Belt wet", "small letters"),
        ('reference = "common', 'referense = "common', "referense", "common practice", "spelling"),
        ("correct = true", "corect = true", "option 1 corect", "True", "spelling"),
    ],
)
def test_a_wrong_value_names_its_line_field_value_and_remedy(good, bad, field, value, remedy):
    text = (HEAD + CHOICE).replace(good, bad)

    fault = next(fault for fault in faults_of(text) if fault.field == field)

    assert fault.line == line_with(text, bad)
    assert value in fault.value
    assert remedy in f"{fault.problem} {fault.remedy}"
    assert fault.item in {"belt-wet", "Belt wet"}


def test_a_missing_field_names_the_item_that_lacks_it():
    text = (HEAD + CHOICE).replace('reference = "common practice, no source"\n', "")

    fault = only_fault(text)

    assert (fault.field, fault.line) == ("reference", line_with(text, "[[items]]"))
    assert fault.remedy == "Add it."


def test_one_mistake_makes_one_fault_and_no_followers():
    text = (HEAD + CHOICE).replace("correct = true", "corect = true")

    assert len(faults_of(text)) == 1


def test_a_number_that_is_none_is_refused():
    fault = only_fault((HEAD + NUMBER).replace("value = 0.4,", "value = nan,"))

    assert fault.field == "answer value"


def test_deeply_nested_brackets_are_refused_without_a_traceback():
    faults = faults_of("a = " + "[" * 20_000 + "]" * 20_000)

    assert [fault.check for fault in faults] == ["syntax"]


@pytest.mark.parametrize(
    ("text", "good", "bad", "check", "said"),
    [
        (CHOICE, "correct = true, ", "", "key-none", "no option is marked right"),
        (
            CHOICE,
            '{ text = "It is washed with solvent and dried", ',
            '{ text = "It is washed with solvent and dried", correct = true, ',
            "key-two",
            "2 options are marked right",
        ),
        (
            CHOICE,
            "It is fitted again the other way round",
            "it is  washed with solvent and dried.",
            "key-same",
            "the same as in option 2",
        ),
        (
            SEVERAL,
            '{ text = "Its paint is polished", ',
            '{ text = "Its paint is polished", correct = true, ',
            "key-all",
            "every option is right",
        ),
        (NUMBER, "value = 0.1,", "value = 0.398,", "key-two", "inside the tolerance"),
        (ORDER, 'first = "gasket"', 'first = "gaskets"', "key-name", "no such thing"),
        (
            ORDER,
            '{ first = "gasket", later = "bolts"',
            '{ first = "bolts", later = "gasket"',
            "key-order",
            "has gasket before bolts",
        ),
        (
            ORDER,
            '{ first = "gasket", later = "bolts"',
            '{ first = "bolts", later = "clean"',
            "key-circle",
            "circle",
        ),
        (
            ORDER,
            f"{GASKET_RULE}\n",
            "",
            "key-order",
            "no rule speaks of it",
        ),
        (MATCH, "A travel", "a gap.", "key-same", "the same as in pair 1"),
        (MATCH, '"A torque"', '"A gap"', "key-same", "partner of pair 1"),
        (POINT, "correct = true, ", "", "key-none", "no place is marked right"),
        (POINT, "at = [120.0, 50.0]", "at = [70.0, 50.0]", "key-two", "overlaps place 1"),
        (POINT, 'picture = "wheels.png"\n', "", "key-picture", "needs a picture"),
        (CHOICE, 'topic = "wear"', 'topic = "wear"\ncautions = ["fire"]', "key-name", "[cautions]"),
        (
            CHOICE,
            'rationale = "Solvent',
            'misconception = "no-such-idea", rationale = "Solvent',
            "key-name",
            "no such misconception",
        ),
    ],
)
def test_a_key_that_cannot_be_marked_is_a_fault(text, good, bad, check, said):
    broken = (HEAD + text).replace(good, bad)
    assert broken != HEAD + text

    found = {fault.check: fault for fault in faults_of(broken)}

    assert said in found[check].problem
    assert found[check].remedy


def test_two_items_of_one_id_are_a_fault_at_the_second():
    text = HEAD + CHOICE + CHOICE

    fault = only_fault(text)

    assert (fault.check, fault.field, fault.value) == ("key-id", "id", "belt-wet")
    assert f"line {text.splitlines().index('[[items]]') + 1}" in fault.problem


def test_loading_says_file_line_field_value_and_how_many_more(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(
        (HEAD + CHOICE).replace('"wear"', '"weather"').replace('"apply"', '"hard"'), "utf-8"
    )

    with pytest.raises(InputError) as caught:
        load_bank(path)

    assert f"{path}:12: belt-wet topic = 'weather'" in str(caught.value)
    assert "(1 more:" in str(caught.value)


@pytest.mark.parametrize("name", ["missing.toml", "."])
def test_a_file_that_cannot_be_read_is_named(tmp_path, name):
    with pytest.raises(InputError, match="can't be read"):
        load_bank(tmp_path / name)


def test_bytes_that_are_no_text_are_named(tmp_path):
    (tmp_path / "latin.toml").write_bytes(b"title = '\xe4'")

    with pytest.raises(InputError, match="no UTF-8 text"):
        load_bank(tmp_path / "latin.toml")


def test_two_banks_of_one_id_are_refused(tmp_path):
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text(HEAD + CHOICE, "utf-8")

    with pytest.raises(InputError, match=r"a\.toml is a bank of the same id"):
        load_banks(tmp_path)


def test_an_entry_that_is_not_there_is_named():
    bank, _ = read_bank(HEAD + CHOICE)

    with pytest.raises(NotFoundError, match="no such item"):
        bank.entry("belt-dry")


def test_every_item_and_option_of_the_shipped_banks_stands_on_the_line_that_is_remembered():
    for path in sorted(SHIPPED.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        rows, lines = text.splitlines(), line_numbers(text)
        bank, _ = read_bank(text, path.name)
        for place, item in enumerate(bank.written.items):
            assert rows[line_of(lines, ("items", place)) - 1] == "[[items]]"
            assert f'"{item.id}"' in rows[line_of(lines, ("items", place, "id")) - 1]
            for number, option in enumerate(getattr(item, "options", ())):
                at = line_of(lines, ("items", place, "options", number, "text"))
                assert option.text in rows[at - 1]


def test_lines_are_kept_past_strings_comments_and_headers_that_only_look_like_some():
    text = (
        '[[items]]\nprompt = """\n[[items]]\nid = 1\n"""\n# [[items]]\nmany = [\n  [1, "]"],\n'
        "  # no element\n  [2, 3],\n]\n[items.answer]\nvalue = 4\n[[items]]\n'quoted' = 5\n"
    )

    lines = line_numbers(text)

    assert lines[("items", 0, "many", 0)] == 8
    assert lines[("items", 0, "many", 1)] == 10
    assert lines[("items", 0, "answer", "value")] == 13
    assert lines[("items", 1)] == 14
    assert lines[("items", 1, "quoted")] == 15
    assert ("items", 2) not in lines


def test_the_same_seed_puts_the_same_item_and_another_seed_another_order():
    entry = entry_of(HEAD + CHOICE)

    orders = {tuple(o.text for o in bank_item(entry, seed).options) for seed in range(60)}

    assert bank_item(entry, 7) == bank_item(entry, 7)
    assert len(orders) > 15


def test_the_right_option_is_as_often_in_each_place():
    entry = entry_of(HEAD + CHOICE)

    places = [
        [option.correct for option in bank_item(entry, seed).options].index(True)
        for seed in range(2000)
    ]

    assert all(abs(places.count(place) - 500) < 90 for place in range(4))


def test_an_item_says_where_it_comes_from_and_rests_on_no_sheet():
    item = bank_item(entry_of(HEAD + CHOICE), 1)

    assert (item.family, item.version, item.sheet, item.revision) == (
        "bank:sound/belt-wet",
        1,
        "",
        0,
    )
    assert (item.topic, item.level, item.kind) == ("wear", Level.APPLY, Kind.ONE_CHOICE)
    assert item.reference == "common practice, no source"


def test_a_caution_opens_with_the_banks_sentence_and_an_item_without_one_stays_without():
    warned = CHOICE.replace('level = "apply"', 'level = "apply"\ncautions = ["spring"]')

    assert bank_item(entry_of(HEAD + warned), 1).caution == (
        "The maker's information comes first. Hold the spring before its lock comes out."
    )
    assert bank_item(entry_of(HEAD + CHOICE), 1).caution == ""


def test_things_are_put_in_an_order_that_breaks_a_rule():
    entry = entry_of(HEAD + ORDER)

    for seed in range(200):
        things = bank_item(entry, seed).things
        assert sorted(things) == ["Clean the face", "Seat the gasket", "Tighten the bolts"]
        assert things[-1] != "Tighten the bolts"


def test_partners_are_shuffled_with_those_that_fit_nothing():
    item = bank_item(entry_of(HEAD + MATCH), 3)

    assert item.left == ("Feeler blade", "Dial gauge", "Caliper")
    assert sorted(item.right) == ["A gap", "A length", "A torque", "A travel"]


def test_a_place_carries_its_name_and_reason_and_a_number_its_foreseen_mistakes():
    point = bank_item(entry_of(HEAD + POINT), 1)
    number = bank_item(entry_of(HEAD + NUMBER), 1)

    assert {option.value for option in point.options} == {place.name for place in point.places}
    assert [area.name for area in point.key.areas] == ["on the right"]
    assert {option.text for option in number.options} == {"0.40 mm", "0.10 mm"}
    assert (number.key.value, number.asked.unit) == (0.4, "mm")


def test_the_content_hash_changes_with_what_is_shown_and_not_with_tags():
    plain = entry_of(HEAD + CHOICE)
    tagged = entry_of(HEAD + CHOICE.replace('level = "apply"', 'level = "apply"\ntags = ["x"]'))
    changed = entry_of(HEAD + CHOICE.replace("washed", "rinsed"))

    assert plain.content_hash == tagged.content_hash
    assert plain.content_hash != changed.content_hash


def test_the_shipped_banks_load_once_and_stay():
    assert shipped_banks() is shipped_banks()
    assert "tensioners" in shipped_banks()
