"""What is due, as an iCalendar stream (RFC 5545) that calendars can follow."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from icalendar import Calendar, Event

NAME = "-//quizsvc//assignments//EN"
AFRESH = timedelta(hours=1)  # how often a calendar should look again


@dataclass(frozen=True, slots=True)
class Entry:
    """Something with a time in a person's calendar; ``uid`` stays the same for ever."""

    uid: str
    title: str
    words: str
    at: datetime
    until: datetime | None
    link: str


def calendar_of(entries: Iterable[Entry], *, title: str, now: datetime) -> bytes:
    """Return the entries as a VCALENDAR; times in UTC, text escaped by RFC 5545 section 3.3.11."""
    calendar = Calendar()
    calendar.add("prodid", NAME)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", title)  # RFC 7986 section 5.1
    calendar.add("refresh-interval", AFRESH, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, now))
    return bytes(calendar.to_ical())


def _event(entry: Entry, now: datetime) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", now)
    event.add("dtstart", entry.at)
    if entry.until is not None:
        event.add("dtend", entry.until)
    event.add("summary", entry.title)
    event.add("description", entry.words)
    event.add("url", entry.link)
    event.add("transp", "TRANSPARENT")  # a due date does not make somebody busy
    return event
