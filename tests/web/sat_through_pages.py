"""Assignments given out, begun and answered through the pages."""

from __future__ import annotations

from hidden_fields import hidden

TEST = {
    "title": "Test one",
    "form": "timed test",
    "opens": "2025-03-03T07:00",
    "due": "",
    "minutes": "30",
    "tries": "1",
    "feedback": "when released",
    "numbers": "own",
}
HOMEWORK = TEST | {
    "title": "Homework one",
    "form": "homework",
    "minutes": "",
    "feedback": "after handing in",
}


def give_out(ivo, room, terms=TEST, by=({"by": "topic", "topic": "safety", "count": "1"},)):
    """Build an assignment through the pages and give it out; return its address."""
    made = ivo.send(
        "/classroom/assignments/new", terms | {"class": room}, seen="/classroom/assignments/new"
    )
    assert made.status_code == 302, made.text
    address = made.headers["Location"]
    for fields in by:
        added = ivo.send(f"{address}/questions", fields, seen=address)
        assert added.status_code == 302, added.text
    assert ivo.send(f"{address}/issue", seen=address).status_code == 302
    return address


def begin(client, address, **fields):
    begun = client.send(f"{address}/begin", fields, seen=f"{address}/begin")
    return begun.headers["Location"].rpartition("/")[0]


def send_answer(client, address, **fields):
    page = client.get(address).text
    about = {"sequence": hidden(page, "sequence"), "key": hidden(page, "key")}
    return client.send(address, about | fields, seen=address)
