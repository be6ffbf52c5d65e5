"""Banks and engine sheets with anything changed in their text: used, or refused with what to do."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from items.bank_texts import EVERY_KIND
from mutations import mutated, mutated_text
from valid_sheets import INLINE_FOUR, VEE_EIGHT, VEE_SIX, shipped_text

from quizsvc.errors import InputError
from quizsvc.items.bank_check.checking import check_bank
from quizsvc.items.banks.loading import MEDIA, file_text, read_bank
from quizsvc.items.banks.pieces import cut
from quizsvc.items.banks.putting import bank_item
from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.loading import load_sheet
from quizsvc.sheets.problems import SheetError

ROUGH = settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow])
SHEETS = [INLINE_FOUR, VEE_SIX, VEE_EIGHT]


@ROUGH
@given(mutated_text(EVERY_KIND))
def test_a_changed_bank_is_used_or_every_fault_has_a_line_and_a_remedy(text):
    bank, faults = read_bank(text)

    for fault in faults:
        assert fault.line >= 1
        assert fault.problem
        assert fault.remedy
    assert bank is not None or faults
    if bank is not None and not faults:
        check_bank(bank, MEDIA)
        pieces = cut(text, bank.lines, len(bank.entries))
        assert pieces is None or "".join([pieces.head, *pieces.items]) == text
        for entry in bank.entries:
            assert bank_item(entry, 1).prompt is not None


@ROUGH
@given(mutated(EVERY_KIND.encode()))
def test_a_bank_file_with_bytes_changed_is_read_or_refused(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("banks") / "bank.toml"
    path.write_bytes(content)

    try:
        bank, faults = read_bank(file_text(path))
    except InputError as refused:
        bank, faults = None, (refused,)

    assert bank is not None or all(fault.remedy for fault in faults)
    assert bank is not None or faults


@settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(SHEETS).flatmap(lambda name: mutated_text(shipped_text(name))))
def test_a_changed_sheet_is_checked_or_refused(text):
    try:
        found = check_sheet(load_sheet(text))
    except SheetError as refused:
        found = refused.problems
        assert found

    for one in found:
        assert one.message


@pytest.mark.parametrize("depth", [50, 5000])
def test_brackets_without_end_are_refused(depth):
    bank, faults = read_bank("a = " + "[" * depth + "]" * depth)
    assert bank is None
    assert faults
    with pytest.raises(SheetError):
        load_sheet("a = " + "[" * depth + "]" * depth)
