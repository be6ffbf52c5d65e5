"""Engine sheets in an instructor's hands: every save a new revision, nothing ever lost."""

from __future__ import annotations

import pytest
from workshop import NOON, SHEET

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.rules.actors import Role
from quizsvc.services import edit_sheets, practise, sheet_pages
from quizsvc.services.auditing import broken_at
from quizsvc.services.edit_sheets import Draft
from quizsvc.services.people import NewPerson, enrol
from quizsvc.sheets.loading import load_sheet
from quizsvc.sheets.problems import SheetError

OWN = "own-engine"
TEXT = SHEET.read_text().replace('id = "demo-inline-four"', f'id = "{OWN}"', 1)


def content(**changes):
    stated = load_sheet(TEXT).model_dump(mode="json", exclude_none=True)
    return stated | {"id": OWN} | changes


def with_rod(rod_mm):
    stated = content()
    return stated | {"piston": stated["piston"] | {"rod_mm": rod_mm}}


@pytest.fixture
def own(house, ida):
    """Store and publish the first revision of a sheet of the shop."""
    return edit_sheets.save(house, ida, Draft(content(), publish=True), now=NOON)


def used(house, actor):
    return [(s.sheet_id, s.revision) for s in practise.overview(house, actor, NOON).sheets]


def save(house, actor, rod_mm, *, based_on=1, publish=True, note="Rod measured again."):
    draft = Draft(with_rod(rod_mm), based_on, note, publish)
    return edit_sheets.save(house, actor, draft, sheet_id=OWN, now=NOON)


def test_a_new_sheet_is_its_shops_own_and_in_use(house, own, workshop):
    assert (own.revision, own.state) == (1, "published")
    assert (OWN, 1) in used(house, workshop.people["ana"])
    assert (OWN, 1) not in used(house, workshop.people["oda"])


@pytest.mark.usefixtures("own")
def test_a_draft_is_not_used_until_it_is_published(house, ida, ana):
    draft = save(house, ida, 141.5, publish=False)
    assert draft.state == "draft"
    assert (OWN, 1) in used(house, ana)

    edit_sheets.publish(house, ida, OWN, 2, now=NOON)

    assert (OWN, 2) in used(house, ana)


def test_a_save_keeps_the_comments_of_the_text_it_began_from(house, ida):
    edit_sheets.save_file(house, ida, TEXT + "# measured on a stand\n", publish=True, now=NOON)

    save(house, ida, 141.5)

    text = sheet_pages.sheet_text(house, ida, OWN, 2)
    assert "# measured on a stand" in text
    assert load_sheet(text).piston.rod_mm == 141.5


@pytest.mark.usefixtures("own")
def test_the_second_revision_needs_a_note(house, ida):
    with pytest.raises(InputError, match="revision 2 needs a note") as refusal:
        save(house, ida, 141.5, note="  ")

    assert refusal.value.field == "note"


@pytest.mark.usefixtures("own")
def test_saving_without_a_change_is_refused(house, ida):
    with pytest.raises(InputError, match="nothing differs from revision 1"):
        edit_sheets.save(house, ida, Draft(content(), 1, "Nothing."), sheet_id=OWN, now=NOON)


@pytest.mark.usefixtures("own")
def test_of_two_who_edit_the_later_is_told_and_both_are_kept(house, ida, ana):
    first = save(house, ida, 141.5)

    later = save(house, ida, 144.5, based_on=1)

    assert first.overtaken_by is None
    assert later.state == "draft"
    assert (later.overtaken_by.revision, later.overtaken_by.by) == (2, "Ida")
    rods = [load_sheet(sheet_pages.sheet_text(house, ida, OWN, n)).piston.rod_mm for n in (2, 3)]
    assert rods == [141.5, 144.5]
    assert (OWN, 2) in used(house, ana)


@pytest.mark.usefixtures("own")
def test_going_back_publishes_the_earlier_revision_as_a_new_one(house, ida):
    save(house, ida, 141.5)

    again = edit_sheets.publish(house, ida, OWN, 1, note="Measured wrongly.", now=NOON)

    assert (again.revision, again.state) == (3, "published")
    page = sheet_pages.sheet_page(house, ida, OWN)
    assert page.sheet.piston.rod_mm == load_sheet(TEXT).piston.rod_mm
    assert page.row.note == "Revision 1 again: Measured wrongly."
    assert [row.revision for row in page.revisions] == [3, 2, 1]


@pytest.mark.usefixtures("own")
def test_going_back_needs_a_reason(house, ida):
    save(house, ida, 141.5)

    with pytest.raises(InputError, match="needs a note"):
        edit_sheets.publish(house, ida, OWN, 1, now=NOON)


@pytest.mark.usefixtures("own")
def test_what_is_published_already_is_not_published_twice(house, ida):
    with pytest.raises(ConflictError, match="already"):
        edit_sheets.publish(house, ida, OWN, 1, now=NOON)


@pytest.mark.usefixtures("own")
def test_a_sheet_with_errors_is_kept_as_a_draft_only(house, ida):
    broken = content()
    broken["safe_position"] = {"atdc_deg": 10.0}

    draft = Draft(broken, 1, "Other safe position.", publish=True)
    with pytest.raises(InputError, match="the check finds 1 error") as refusal:
        edit_sheets.save(house, ida, draft, sheet_id=OWN, now=NOON)
    assert refusal.value.field == "safe_position.atdc_deg"

    kept = edit_sheets.save(
        house, ida, Draft(broken, 1, "Other safe position."), sheet_id=OWN, now=NOON
    )
    with pytest.raises(InputError, match="the check finds"):
        edit_sheets.publish(house, ida, OWN, kept.revision, now=NOON)


@pytest.mark.usefixtures("own")
def test_the_id_of_a_new_sheet_must_be_free(house, ida):
    with pytest.raises(ConflictError, match="another engine sheet"):
        edit_sheets.save(house, ida, Draft(content()), now=NOON)


@pytest.mark.usefixtures("own")
def test_a_file_of_another_engine_is_not_saved_onto_this_one(house, ida):
    draft = Draft(content(id="third-engine"), 1, "x")
    with pytest.raises(InputError, match="another engine"):
        edit_sheets.save(house, ida, draft, sheet_id=OWN, now=NOON)


def test_a_sheet_shared_by_several_shops_is_changed_by_none(house, ida):
    page = sheet_pages.sheet_page(house, ida, "demo-inline-four")
    assert not page.may_change

    draft = Draft(with_rod(141.5) | {"id": "demo-inline-four"}, 1, "x")
    with pytest.raises(NotAllowedError, match="several shops"):
        edit_sheets.save(house, ida, draft, sheet_id="demo-inline-four", now=NOON)


@pytest.mark.usefixtures("own")
def test_another_shops_sheet_is_not_seen_at_all(house, workshop):
    with house.write() as connection:
        new = NewPerson("Ulf", "ulf", "x" * 20, {Role.INSTRUCTOR})
        person_id = enrol(connection, None, workshop.people["oda"].shop_id, new, now=NOON)
    ulf = type(workshop.people["oda"])(
        person_id, "Ulf", workshop.people["oda"].shop_id, frozenset({Role.INSTRUCTOR})
    )

    assert OWN not in [line.sheet_id for line in sheet_pages.sheets_listed(house, ulf)]
    with pytest.raises(NotFoundError):
        sheet_pages.sheet_page(house, ulf, OWN)
    with pytest.raises(NotFoundError):
        edit_sheets.publish(house, ulf, OWN, 1, now=NOON)
    with pytest.raises(ConflictError, match="another engine sheet"):
        edit_sheets.save(house, ulf, Draft(content()), now=NOON)


@pytest.mark.parametrize("name", ["ana", "max"])
@pytest.mark.usefixtures("own")
def test_whoever_writes_no_sheets_sees_and_saves_none(house, workshop, name):
    person = workshop.people[name]

    for deed in (
        lambda: sheet_pages.sheets_listed(house, person),
        lambda: sheet_pages.sheet_page(house, person, OWN),
        lambda: sheet_pages.sheet_text(house, person, OWN, 1),
        lambda: edit_sheets.publish(house, person, OWN, 1, now=NOON),
        lambda: edit_sheets.save_file(house, person, TEXT, now=NOON),
        lambda: save(house, person, 141.5),
    ):
        with pytest.raises(NotAllowedError, match="instructor"):
            deed()


def test_a_file_with_a_syntax_error_is_refused_with_line_and_column(house, ida):
    with pytest.raises(SheetError, match=r"at line 2, column \d+"):
        edit_sheets.save_file(house, ida, 'id = "x"\ntitle = = 3\n', now=NOON)


@pytest.mark.usefixtures("own")
def test_a_file_sent_again_is_a_new_revision_with_the_note_in_it(house, ida):
    text = sheet_pages.sheet_text(house, ida, OWN, 1)
    text = text.replace("rod_mm = 143.0", "rod_mm = 141.5")
    text = text.replace("revision = 1", 'revision = 2\nnote = "Rod."', 1)

    saved = edit_sheets.save_file(house, ida, text, now=NOON)

    assert (saved.revision, saved.state, saved.overtaken_by) == (2, "draft", None)
    assert sheet_pages.sheet_page(house, ida, OWN, 2).row.note == "Rod."


@pytest.mark.usefixtures("own")
def test_every_save_stands_in_the_audit_log_and_its_chain_holds(house, ida):
    save(house, ida, 141.5, publish=False)
    edit_sheets.publish(house, ida, OWN, 2, now=NOON)

    assert broken_at(house) is None
