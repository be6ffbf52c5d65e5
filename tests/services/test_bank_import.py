"""A bank file taken in: a report that writes nothing, then drafts; work that survives a restart."""

from datetime import timedelta

import pytest
from workshop import BANK

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.services import background, import_report, review, search_items
from quizsvc.services.background import JobState, run_next
from quizsvc.services.bank_texts import take_away
from quizsvc.services.import_items import CHUNK, ask_for_import
from quizsvc.services.import_report import ask_for_report, report_of
from quizsvc.services.search_items import Query
from quizsvc.store import jobs

OURS = "# Our bank, with a comment.\n" + BANK.replace('id = "workshop"', 'id = "ours"', 1)


def reported(workshop, person, text, file="bank.toml"):
    job = ask_for_report(workshop.house, person, file=file, content=text.encode(), now=workshop.now)
    return job, report_of(workshop.house, person, job)


def items_of(workshop, person, bank="ours"):
    return search_items.search(workshop.house, person, Query(bank=bank), now=workshop.now).items


def many(count):
    """Return a bank of many items, large enough to go to the background."""
    head, *pieces = OURS.split("\n[[items]]\n")
    text = [head]
    for number in range(count):
        piece = pieces[number % len(pieces)]
        text.append(
            piece.replace('\nid = "', f'\nid = "n{number}-', 1).replace(
                'id = "', f'id = "n{number}-', 1
            )
        )
    return "\n[[items]]\n".join(text)


def test_the_report_tells_what_would_come_in_and_writes_nothing(workshop, ida):
    _, report = reported(workshop, ida, OURS)

    assert (report.title, report.items, report.same) == ("Workshop bank (invented)", 5, 0)
    assert report.new == ("first-step", "several", "percent", "order", "match")
    assert report.usable
    assert {one.check for one in report.findings} >= {"no-rationale"}
    assert items_of(workshop, ida) == ()


def test_items_come_in_as_drafts_of_the_person_and_go_out_again_as_the_file(workshop, ida):
    report_id, _ = reported(workshop, ida, OURS)

    job = ask_for_import(workshop.house, ida, report_id, now=workshop.now)

    assert background.job_of(workshop.house, ida, job).state is JobState.DONE
    found = items_of(workshop, ida)
    assert {one.card.state.value for one in found} == {"draft"}
    page = review.item_page(workshop.house, ida, found[0].card.item_id)
    assert (page.shown.author, page.wrote_it) == ("Ida", True)
    assert take_away(workshop.house, ida, "ours", drafts=True).text == OURS


def test_a_second_import_brings_only_what_changed_each_as_a_new_version(workshop, ida):
    report_id, _ = reported(workshop, ida, OURS)
    ask_for_import(workshop.house, ida, report_id, now=workshop.now)
    changed = OURS.replace("Radio on", "Radio off").replace("1012.5 mm", "1012.50 mm")

    report_id, report = reported(workshop, ida, changed)
    ask_for_import(workshop.house, ida, report_id, now=workshop.now)

    assert (report.new, report.changed, report.same) == ((), ("first-step", "percent"), 3)
    versions = {one.card.item_ref: one.card.version for one in items_of(workshop, ida)}
    assert sorted(versions.values()) == [1, 1, 1, 2, 2]
    _, again = reported(workshop, ida, changed)
    assert (again.to_write, again.same) == (0, 5)


@pytest.mark.parametrize(
    ("text", "line", "column", "problem"),
    [
        ('id = "x\n', 1, 8, "no valid TOML"),
        (OURS.replace('id = "several"', 'id = "first-step"'), 24, 0, "same id"),
        (OURS.replace('topic = "wear"', 'topic = "cooking"'), 25, 0, "no such topic"),
    ],
)
def test_a_file_that_cannot_be_used_is_reported_with_its_line_and_not_written(
    workshop, ida, text, line, column, problem
):
    report_id, report = reported(workshop, ida, text)

    grave = [one for one in report.findings if one.grave]
    assert [(one.line, one.column) for one in grave] == [(line, column)]
    assert problem in grave[0].problem
    assert not report.usable
    with pytest.raises(ConflictError, match="nothing to write"):
        ask_for_import(workshop.house, ida, report_id, now=workshop.now)


def test_a_bank_that_is_not_the_shops_own_is_not_written_over(workshop, ida):
    _, report = reported(workshop, ida, BANK)

    assert "not your shop's own" in report.findings[0].problem
    assert not report.usable


@pytest.mark.parametrize(
    ("content", "problem"), [(b"  ", "nothing was sent"), (b"\xff\xfe", "UTF-8")]
)
def test_what_is_no_text_is_refused_at_once(workshop, ida, content, problem):
    with pytest.raises(InputError, match=problem):
        ask_for_report(workshop.house, ida, file="x.toml", content=content, now=workshop.now)


def test_a_large_bank_is_read_and_written_in_the_background_with_progress(
    workshop, ida, monkeypatch
):
    house, now = workshop.house, workshop.now
    monkeypatch.setattr(import_report, "AT_ONCE", 1000)
    told = []
    monkeypatch.setattr(
        background.Work, "tell", lambda _self, done, total: told.append((done, total))
    )
    report_id, report = reported(workshop, ida, many(CHUNK + 30))
    assert report is None
    assert run_next(house, lambda: now)
    job = ask_for_import(house, ida, report_id, now=now)
    assert background.job_of(house, ida, job).state is JobState.WAITING

    assert run_next(house, lambda: now)

    assert told[-2:] == [(CHUNK, CHUNK + 30), (CHUNK + 30, CHUNK + 30)]
    assert background.job_of(house, ida, job).state is JobState.DONE
    found = search_items.search(house, ida, Query(bank="ours"), now=now)
    assert found.total == CHUNK + 30
    assert not run_next(house, lambda: now)


def test_an_import_that_was_stopped_goes_on_where_it_was(workshop, ida, monkeypatch):
    house, now = workshop.house, workshop.now
    report_id, _ = reported(workshop, ida, many(CHUNK + 30))
    run_next(house, lambda: now)
    job = ask_for_import(house, ida, report_id, now=now)

    def stop(*_args):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(background.Work, "tell", stop)
        with pytest.raises(KeyboardInterrupt):
            run_next(house, lambda: now)
    assert background.job_of(house, ida, job).state is JobState.RUNNING
    assert not run_next(house, lambda: now), "its worker may still live"
    later = now + jobs.SILENT + timedelta(seconds=1)

    assert run_next(house, lambda: later)

    assert background.job_of(house, ida, job).state is JobState.DONE
    found = search_items.search(house, ida, Query(bank="ours"), now=later)
    assert found.total == CHUNK + 30
    assert {one.card.version for one in found.items} == {1}


def test_work_that_fails_says_so_and_stops_nobody_elses(workshop, ida, monkeypatch):
    house, now = workshop.house, workshop.now

    def broken(_work):
        raise RuntimeError("secret of the house")

    monkeypatch.setitem(background.KINDS, "broken", broken)
    job = background.ask_for(house, ida, "broken", "", now=now)

    assert run_next(house, lambda: now)

    found = background.job_of(house, ida, job)
    assert found.state is JobState.FAILED
    assert "secret" not in found.result


def test_work_is_seen_by_the_shops_instructors_only(workshop, ida):
    job, _ = reported(workshop, ida, OURS)

    with pytest.raises(NotAllowedError):
        background.job_of(workshop.house, workshop.people["ana"], job)
    with pytest.raises(NotAllowedError):
        reported(workshop, workshop.people["ana"], OURS)
    with pytest.raises(NotFoundError):
        background.job_of(workshop.house, ida, job + 1000)
