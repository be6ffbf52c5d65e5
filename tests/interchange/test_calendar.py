"""The calendar stream, read back by the library that other calendars use too."""

from __future__ import annotations

from datetime import UTC, datetime

from icalendar import Calendar

from quizsvc.interchange.calendar import Entry, calendar_of

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_entries_come_back_with_their_times_in_utc_and_text_escaped():
    entry = Entry(
        "assignment-1@quizsvc", "Due: pins, marks; order", "Homework.", NOON, None, "http://h/"
    )

    content = calendar_of([entry], title="Assignments", now=NOON)

    # RFC 5545: lines end in CRLF (3.1), commas and semicolons in text are escaped (3.3.11).
    assert content.startswith(b"BEGIN:VCALENDAR\r\n")
    assert b"pins\\, marks\\; order" in content
    assert b"DTSTART:20260302T120000Z\r\n" in content
    event = Calendar.from_ical(content).walk("VEVENT")[0]
    assert (event["uid"], event["summary"]) == (entry.uid, entry.title)
    assert event.decoded("dtstart") == NOON


def test_an_empty_calendar_is_still_one():
    assert not Calendar.from_ical(calendar_of([], title="x", now=NOON)).walk("VEVENT")
