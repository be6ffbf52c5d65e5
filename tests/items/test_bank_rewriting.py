"""A bank's text: cut into pieces, changed in one place, put together again."""

import pytest
from bank_texts import CHOICE, HEAD, NUMBER, ORDER

from quizsvc.items.banks.difference import Change, differences, pieces
from quizsvc.items.banks.key_change import key_changed, same_question
from quizsvc.items.banks.loading import SHIPPED, read_bank
from quizsvc.items.banks.pieces import cut
from quizsvc.items.banks.rewriting import new_text, rewritten, stated

BANKS = sorted(SHIPPED.glob("*.toml"))
COMMENTED = f"""{HEAD}
# This one came up after a comeback.
{CHOICE.strip()} # the last line

# And this one is about blades.
{NUMBER.strip()}
"""


def item_of(text):
    bank, faults = read_bank(HEAD + text)
    assert not faults
    return bank.written.items[0]


def cut_up(text):
    bank, _ = read_bank(text)
    return bank, cut(text, bank.lines, len(bank.entries))


@pytest.mark.parametrize("path", BANKS, ids=lambda path: path.stem)
def test_a_shipped_bank_put_together_again_is_the_file_byte_for_byte(path):
    text = path.read_text(encoding="utf-8")

    bank, found = cut_up(text)

    assert found.head + "".join(found.items) == text
    for piece, entry in zip(found.items, bank.entries, strict=True):
        assert rewritten(piece, entry.written) == piece


@pytest.mark.parametrize("path", BANKS, ids=lambda path: path.stem)
def test_an_item_written_as_new_reads_as_the_same_item(path):
    bank, found = cut_up(path.read_text(encoding="utf-8"))

    for entry in bank.entries:
        again, faults = read_bank(found.head + new_text(stated(entry.written)))

        assert not faults
        assert again.entries[0].written == entry.written


def test_a_comment_stays_with_the_item_below_it():
    _, found = cut_up(COMMENTED)

    assert found.items[0].startswith("# This one came up after a comeback.\n[[items]]")
    assert found.items[1].startswith("# And this one is about blades.\n[[items]]")


def test_only_what_was_changed_is_written_anew():
    bank, found = cut_up(COMMENTED)
    item = bank.written.items[0]
    options = (item.options[0].model_copy(update={"text": "It is thrown away"}), *item.options[1:])
    changed = item.model_copy(update={"options": options, "version": 2})

    text = rewritten(found.items[0], changed)

    lost = set(found.items[0].splitlines()) - set(text.splitlines())
    assert len(lost) == 1
    assert "It is renewed" in lost.pop()
    assert "# This one came up after a comeback." in text
    assert read_bank(HEAD + text)[0].written.items[0] == changed


def test_items_in_one_long_line_are_not_cut():
    text = HEAD.replace("[cautions]", f"items = [{inline_item()}]\n[cautions]")

    bank, found = cut_up(text)

    assert len(bank.entries) == 1
    assert found is None


def inline_item():
    return (
        '{ id = "a", topic = "wear", level = "recall", kind = "one choice", prompt = "Which?", '
        'reference = "none", options = [{ text = "a", correct = true }, { text = "b" }] }'
    )


def test_a_difference_names_the_field_and_the_words():
    before = item_of(CHOICE)
    after = item_of(CHOICE.replace("renewed and the leak", "renewed, the leak"))

    found = differences(before, after)

    assert [one.field for one in found] == ["option 1 text"]
    changed = [(p.change, p.words) for p in found[0].pieces if p.change is not Change.SAME]
    assert changed == [(Change.REMOVED, "renewed and"), (Change.ADDED, "renewed,")]
    assert differences(before, before) == ()


def test_what_is_the_same_added_or_removed_gives_both_texts_back():
    before, after = "turn the crank twice by hand", "turn it twice, slowly, by hand"

    found = pieces(before, after)

    kept = {Change.SAME, Change.REMOVED}
    assert "".join(p.words for p in found if p.change in kept) == before
    kept = {Change.SAME, Change.ADDED}
    assert "".join(p.words for p in found if p.change in kept) == after


@pytest.mark.parametrize(
    ("text", "old", "new"),
    [
        (CHOICE, 'mended", correct = true', 'mended", correct = false'),
        (NUMBER, "value = 0.4, tol", "value = 0.5, tol"),
        (NUMBER, "tolerance = 0.005", "tolerance = 0.05"),
    ],
)
def test_another_key_to_the_same_things_is_a_changed_key(text, old, new):
    before = item_of(text)
    bank, _ = read_bank(HEAD + text.replace(old, new))

    assert key_changed(before, bank.written.items[0])
    assert same_question(before, bank.written.items[0])


@pytest.mark.parametrize(
    ("text", "old", "new"),
    [
        (CHOICE, "Oil swells rubber", "Mineral oil swells rubber"),
        (NUMBER, "arithmetic", "common practice, no source"),
        (ORDER, "why = ", "why = "),
    ],
)
def test_better_reasons_are_no_changed_key(text, old, new):
    assert not key_changed(item_of(text), item_of(text.replace(old, new)))
