"""The classroom's pages: assign, sit, save, watch; nothing tells the key before its time."""

from __future__ import annotations

import re

from hidden_fields import hidden
from sat_through_pages import HOMEWORK, TEST, begin, give_out, send_answer

from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions

TELLTALE = "telltale"  # stands in every rationale, rule and step of the test bank
JSON = {"Accept": "application/json"}


def test_assign_sit_watch_and_release(person, room, clock):
    ivo, lea = person("ivo"), person("lea")
    address = give_out(ivo, room)
    assert "Test one" in lea.get("/classroom/").text
    sitting = begin(lea, address)

    saved = send_answer(lea, f"{sitting}/1", choice="2", do="end")
    assert saved.headers["Location"].endswith("/hand-in")
    assert "1 of 1" in ivo.get(f"{address}/watch/rows").text
    lea.send(f"{sitting}/hand-in", seen=f"{sitting}/hand-in")

    review = lea.get(f"{sitting}/review").text
    assert "told when the instructor releases it" in review
    clock.pass_time(minutes=1)
    ivo.send(f"{address}/watch/release", seen=f"{address}/watch")
    told = lea.get(f"{sitting}/review").text
    assert re.search(r"[01] of 1", told)
    assert TELLTALE in told


def everything_said_before_the_end(client, others, address, sitting):
    """Return all bytes of every route one can ask for while a test goes on, headers included."""
    page = client.get(f"{sitting}/1").text
    about = {
        "csrf_token": client.form_token(f"{sitting}/1"),
        "sequence": hidden(page, "sequence"),
        "key": hidden(page, "key"),
        "choice": "1",
    }
    answers = [
        client.get(path)
        for path in (
            f"{sitting}/1",
            f"{sitting}/hand-in",
            f"{sitting}/review",
            f"{sitting}/left",
            f"{sitting}/1/picture",
            f"{sitting}/2",
            "/classroom/",
            f"{address}/begin",
            "/practise/",
            "/practise/history",
            address,
            f"{address}/watch",
            f"{address}/watch/rows",
            f"{address}{sitting.removeprefix('/classroom')}",
        )
    ]
    answers.append(client.post(f"{sitting}/1", data=about, headers=JSON))
    answers.append(
        client.post(f"{sitting}/1", data=about | {"do": "check", "sequence": "9", "key": "k" * 32})
    )
    answers += [other.get(f"{sitting}/1") for other in others]
    answers += [other.get(f"{address}/begin") for other in others]
    return "\n".join(f"{one.headers}{one.get_data()!r}" for one in answers)


def test_nothing_tells_the_key_of_a_test_before_it_is_released(person, room):
    ivo, lea, tom = person("ivo"), person("lea"), person("tom")
    address = give_out(
        ivo,
        room,
        by=[{"by": "topic", "topic": topic, "count": "1"} for topic in ("safety", "procedure")],
    )
    sitting = begin(lea, address)

    assert TELLTALE not in everything_said_before_the_end(lea, [tom], address, sitting)

    lea.send(f"{sitting}/hand-in", seen=f"{sitting}/hand-in")
    after = [lea.get(f"{sitting}/{path}").text for path in ("1", "review")]
    assert TELLTALE not in "".join([*after, lea.get("/practise/history").text])


def test_pages_of_a_sitting_name_no_misconception_family_or_seed(person, room, house):
    house.seeds = iter(range(7_654_321_000, 7_654_322_000)).__next__
    ivo, lea = person("ivo"), person("lea")
    topics = [
        {"by": "topic", "topic": topic, "count": "3", "sheet": "demo-vee-six"}
        for topic in ("cycle", "piston", "marks")
    ]
    sitting = begin(lea, give_out(ivo, room, by=topics))

    for number in range(1, 10):
        page = lea.get(f"{sitting}/{number}").text
        assert "765432" not in page
        assert not re.search(r"correct|misconception|seed|tolerance", page)
        # A family named by one plain word may well stand in its own question.
        assert not [family for family in all_families() if "-" in family and family in page]
        assert not [idea.id for idea in all_misconceptions().values() if idea.id in page]


def test_the_page_s_script_is_told_in_json_what_was_saved(person, room):
    ivo, lea = person("ivo"), person("lea")
    sitting = begin(lea, give_out(ivo, room))
    token = lea.form_token(f"{sitting}/1")
    fields = {"csrf_token": token, "sequence": "4", "key": "k" * 32, "choice": "1"}

    first = lea.post(f"{sitting}/1", data=fields, headers=JSON)
    again = lea.post(f"{sitting}/1", data=fields, headers=JSON)
    older = lea.post(f"{sitting}/1", data=fields | {"sequence": "3", "key": "o" * 32}, headers=JSON)

    assert first.json["saved"]
    assert first.json == again.json
    assert (older.status_code, older.json["saved"]) == (409, False)
    assert "newer answer" in older.json["problem"]
    assert 'value="1" checked' in re.sub(r'\s+id="answer"', "", lea.get(f"{sitting}/1").text)


def test_what_was_not_touched_is_not_saved(person, room):
    ivo, lea = person("ivo"), person("lea")
    sitting = begin(lea, give_out(ivo, room))

    send_answer(lea, f"{sitting}/1", choice="1", untouched="1", go="1")

    assert "No answer saved yet" in lea.get(f"{sitting}/1").text


def test_another_place_must_take_over_before_it_can_save(person, room):
    ivo, desk, phone = person("ivo"), person("lea"), person("lea")
    sitting = begin(desk, give_out(ivo, room))
    page = phone.get(f"{sitting}/1").text
    assert "open at another place" in page
    assert 'name="choice"' not in page

    phone.send(f"{sitting}/place", {"number": "1"}, seen=f"{sitting}/1")

    assert 'name="choice"' in phone.get(f"{sitting}/1").text
    assert "open at another place" in desk.get(f"{sitting}/1").text


def test_the_live_view_is_silent_while_nothing_changes(person, room):
    ivo, lea = person("ivo"), person("lea")
    address = give_out(ivo, room)
    sitting = begin(lea, address)
    version = re.search(r'data-version="(\w+)"', ivo.get(f"{address}/watch").text)[1]
    assert ivo.get(f"{address}/watch/rows?seen={version}").status_code == 204

    send_answer(lea, f"{sitting}/1", choice="1", go="1")

    assert ivo.get(f"{address}/watch/rows?seen={version}").status_code == 200


def test_pause_add_minutes_extra_void_and_close_through_the_pages(person, room):
    ivo, lea = person("ivo"), person("lea")
    address = give_out(ivo, room, TEST | {"invigilated": "1"})
    assert (
        "room is not open yet"
        in lea.send(f"{address}/begin", {"code": "x"}, seen=f"{address}/begin").text
    )
    ivo.send(f"{address}/watch/open-room", seen=f"{address}/watch")
    code = re.search(r"code--large\">(\w{3} \w{3})<", ivo.get(f"{address}/watch").text)[1]
    sitting = begin(lea, address, code=code)

    for deed, fields, said in (
        ("pause", {}, "1 paused"),
        ("go-on", {}, "1 running"),
        ("add", {"minutes": "5"}, "5 minutes added for 1"),
        ("close-room", {}, "The room is shut"),
    ):
        ivo.send(f"{address}/watch/{deed}", fields, seen=f"{address}/watch")
        assert said in ivo.get(f"{address}/watch").text, deed
    ivo.send(f"{address}/questions/1/void", {"reason": "two are right"}, seen=f"{address}/watch")
    token = sitting.rpartition("/")[2]
    ivo.send(f"{address}/sittings/{token}/close", seen=f"{address}/watch")

    watched = ivo.get(f"{address}/watch").text
    assert "Void: two are right" in watched
    assert "1 finished" in watched
    assert "Kept under" in ivo.get(f"{address}/sittings/{token}").text


def test_learners_and_strangers_reach_no_page_of_those_who_run_it(person, room):
    ivo, lea, mia = person("ivo"), person("lea"), person("mia")
    address = give_out(ivo, room)

    for path in (
        address,
        f"{address}/watch",
        f"{address}/watch/rows",
        f"{address}/terms",
        "/classroom/assignments",
    ):
        assert lea.get(path).status_code == 403, path
    assert mia.get(f"{address}/watch").status_code == 200
    assert mia.get(address).status_code == 403
    for deed in ("pause", "go-on", "release"):
        assert lea.send(f"{address}/watch/{deed}", seen="/classroom/").status_code == 403
        assert mia.send(f"{address}/watch/{deed}", seen="/classroom/").status_code == 403


def test_forms_refuse_what_cannot_be_by_field(person, room):
    ivo = person("ivo")

    for changed, words in (
        ({"minutes": ""}, "A timed test needs its time"),
        ({"tries": "many"}, "That is no whole number"),
        ({"opens": "tomorrow"}, "That is no date and time"),
        ({"due": "9999-12-31T23:59-23:59"}, "That is no date and time"),
        ({"title": ""}, "A title has from 1 to 120"),
        ({"form": "oral"}, "That is none of the choices"),
    ):
        answer = ivo.send(
            "/classroom/assignments/new",
            TEST | {"class": room} | changed,
            seen="/classroom/assignments/new",
        )
        assert answer.status_code == 422
        assert words in answer.text


def test_the_calendar_address_needs_no_sign_in_and_shows_titles_only(app, person, room):
    give_out(person("ivo"), room, HOMEWORK | {"due": "2025-03-10T08:00"})
    lea = person("lea")
    page = lea.send("/classroom/calendar", seen="/classroom/calendar").text
    address = re.search(r"http://localhost(/classroom/calendar/[\w-]+\.ics)", page)[1]

    feed = app.test_client().get(address)

    assert feed.mimetype == "text/calendar"
    assert "SUMMARY:Due: Homework one" in feed.text
    assert app.test_client().get("/classroom/calendar/unknown.ics").status_code == 404
