"""Banks carried to QTI and CSV and brought in from them: told first, then drafts, rights held."""

import io
import zipfile

import pytest
from interchange.qti_packages import (
    CHOICE_BODY,
    every_kind,
    foreign_item,
    foreign_package,
    sound_package,
)
from workshop import BANK

from quizsvc.errors import InputError, NotAllowedError, NotFoundError
from quizsvc.interchange.qti.package import import_package
from quizsvc.services import interchange, search_items
from quizsvc.services.import_items import ask_for_import
from quizsvc.services.import_report import ask_for_report, report_of
from quizsvc.services.interchange import bring_in, carry_away
from quizsvc.services.pictures import picture_bytes
from quizsvc.services.search_items import Query

OURS = BANK.replace('id = "workshop"', 'id = "ours"', 1)
ALT = "Two wheels side by side, one of them small and the other large."


def brought(workshop, person, file, content):
    job = ask_for_report(workshop.house, person, file=file, content=content, now=workshop.now)
    report = report_of(workshop.house, person, job)
    if report.to_write:
        ask_for_import(workshop.house, person, job, now=workshop.now)
    return report


def test_a_bank_goes_out_as_qti_and_comes_back_as_the_same_items(workshop, ida):
    brought(workshop, ida, "ours.toml", OURS.encode())

    package = carry_away(workshop.house, ida, "ours", "zip", drafts=True)
    report = brought(workshop, ida, "ours.zip", package.content)

    assert package.name == "ours.zip"
    assert zipfile.is_zipfile(io.BytesIO(package.content))
    assert import_package(package.content).notes == ()
    assert (report.new, report.changed, report.same) == ((), (), 5)


def test_a_package_comes_in_as_drafts_with_its_pictures_drawn_anew(workshop, ida):
    report = brought(workshop, ida, "sound.zip", sound_package())

    assert report.usable
    assert len(report.new) == len(every_kind().items)
    query = Query(bank="sound")
    found = search_items.search(workshop.house, ida, query, now=workshop.now).items
    assert {one.card.state.value for one in found} == {"draft"}
    text, _ = bring_in(workshop.house, ida, "sound.zip", sound_package(), now=workshop.now)
    name = text.partition('picture = "')[2].partition('"')[0]
    assert name.startswith("wheels-")
    assert picture_bytes(workshop.house, name).startswith(b"\x89PNG")


def test_what_did_not_come_over_stands_first_on_the_report(workshop, ida):
    essay = '<qti-extended-text-interaction response-identifier="RESPONSE"/>'
    package = foreign_package(foreign_item(CHOICE_BODY), foreign_item(essay, identifier="essay"))

    report = brought(workshop, ida, "theirs.ZIP", package)

    assert report.items == 1
    told = {one.item: one for one in report.findings if one.check in {"left out", "filled in"}}
    assert "extended-text" in told["essay"].problem
    assert told["foreign"].remedy
    assert report.found >= len(told)


def test_a_picture_that_does_not_say_what_is_seen_is_left_behind_and_told(workshop, ida):
    package = sound_package()
    files = {}
    with zipfile.ZipFile(io.BytesIO(package)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    path = "items/wheel-point.xml"
    files[path] = files[path].replace(ALT.encode(), b"Wheels")
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)

    text, notes = bring_in(workshop.house, ida, "x.zip", kept.getvalue(), now=workshop.now)

    assert "wheel-point" not in text
    (note,) = [note for note in notes if note.item == "wheel-point"]
    assert "what is seen" in note.why


def test_choices_go_out_as_a_table_and_come_back(workshop, ida):
    brought(workshop, ida, "ours.toml", OURS.encode())

    table = carry_away(workshop.house, ida, "ours", "csv", drafts=True)
    report = brought(workshop, ida, "from-table.csv", table.content)

    assert report.bank_id == "from-table"
    assert report.new == ("first-step", "several")


def test_a_bank_without_items_of_the_wished_kind_says_what_to_do(workshop, ida):
    brought(workshop, ida, "ours.toml", OURS.encode())

    with pytest.raises(InputError, match="no items") as refused:
        carry_away(workshop.house, ida, "ours", "zip", drafts=False)

    assert "drafts" in refused.value.remedy


def test_more_items_than_a_page_can_wait_for_are_sent_to_the_command_line(
    workshop, ida, monkeypatch
):
    monkeypatch.setattr(interchange, "MOST_ITEMS", 3)

    with pytest.raises(InputError, match="more than 3 items") as refused:
        bring_in(workshop.house, ida, "sound.zip", sound_package(), now=workshop.now)

    assert "command line" in refused.value.remedy


@pytest.mark.parametrize(
    ("file", "content", "said"),
    [
        ("x.zip", b"no zip", "zip archive"),
        ("x.csv", b"a,b", "does not name"),
        ("x.zip", foreign_package(foreign_item("<p>?</p>")), "asks nothing"),
    ],
)
def test_what_can_t_be_read_is_refused_with_what_to_do(workshop, ida, file, content, said):
    with pytest.raises(InputError, match=said) as refused:
        ask_for_report(workshop.house, ida, file=file, content=content, now=workshop.now)

    assert refused.value.remedy


def test_learners_carry_nothing_and_no_shop_carries_another_s_bank(workshop, ida):
    brought(workshop, ida, "ours.toml", OURS.encode())
    ana = workshop.people["ana"]

    with pytest.raises(NotAllowedError):
        carry_away(workshop.house, ana, "ours", "zip", drafts=True)
    with pytest.raises(NotAllowedError):
        bring_in(workshop.house, ana, "x.zip", sound_package(), now=workshop.now)
    with pytest.raises(NotFoundError):
        carry_away(workshop.house, ida, "no-such-bank", "zip", drafts=True)
