"""Banks and engine sheets with anything changed in their text: used, or refused with what to do."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from items.bank_texts import EVERY_KIND
from mutations import counted, mutated, mutated_text
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


def test_a_changed_bank_is_used_or_every_fault_has_a_line_and_a_remedy(say):
    with counted(say, "banks with their text changed") as came:

        @ROUGH
        @given(mutated_text(EVERY_KIND))
        def each(text):
            bank, faults = read_bank(text)
            for fault in faults:
                assert fault.line >= 1
                assert fault.problem
                assert fault.remedy
            assert bank is not None or faults
            if bank is not None and not faults:
                use(bank, text)
            came["refused" if bank is None else "told about" if faults else "used"] += 1

        each()


def use(bank, text):
    """Do with a bank what is done with those that are sent in."""
    check_bank(bank, MEDIA)
    pieces = cut(text, bank.lines, len(bank.entries))
    assert pieces is None or "".join([pieces.head, *pieces.items]) == text
    for entry in bank.entries:
        assert bank_item(entry, 1).prompt is not None


def test_a_bank_file_with_bytes_changed_is_read_or_refused(tmp_path, say):
    path = tmp_path / "bank.toml"
    with counted(say, "bank files with bytes changed") as came:

        @ROUGH
        @given(mutated(EVERY_KIND.encode()))
        def each(content):
            path.write_bytes(content)
            try:
                bank, faults = read_bank(file_text(path))
            except InputError as refused:
                bank, faults = None, (refused,)
            assert bank is not None or all(fault.remedy for fault in faults)
            assert bank is not None or faults
            came["refused" if bank is None else "told about" if faults else "read"] += 1

        each()


def test_a_changed_sheet_is_checked_or_refused(say):
    with counted(say, "engine sheets with their text changed") as came:

        @settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
        @given(st.sampled_from(SHEETS).flatmap(lambda name: mutated_text(shipped_text(name))))
        def each(text):
            kind = "checked"
            try:
                found = check_sheet(load_sheet(text))
            except SheetError as refused:
                found, kind = refused.problems, "refused"
                assert found
            for one in found:
                assert one.message
            came[kind] += 1

        each()


@pytest.mark.parametrize("depth", [50, 5000])
def test_brackets_without_end_are_refused(depth):
    bank, faults = read_bank("a = " + "[" * depth + "]" * depth)
    assert bank is None
    assert faults
    with pytest.raises(SheetError):
        load_sheet("a = " + "[" * depth + "]" * depth)
