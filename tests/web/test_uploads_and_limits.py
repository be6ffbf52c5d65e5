"""What forms take of files, and how often costly pages are made."""

import re
import time
from io import BytesIO

import pytest

from quizsvc.web.limits import COSTLY_PAGES, limiter
from quizsvc.web.uploads import TAKEN


def send(client, address, field, name):
    token = client.form_token("/practise/")
    data = {"csrf_token": token, field: (BytesIO(b"invented"), name)}
    return client.post(address, data=data)


def test_every_place_that_is_named_is_there(app):
    endpoints = {rule.endpoint for rule in app.url_map.iter_rules()}

    assert set(TAKEN) | COSTLY_PAGES <= endpoints


@pytest.mark.parametrize(
    ("who", "address", "field"),
    [
        ("mia", "/people/roster/report", "file"),
        ("ivo", "/bank/import", "bank"),
        ("ivo", "/bank/pictures", "picture"),
        ("ivo", "/sheets/upload", "file"),
        ("ivo", "/teaching/paper/read", "pictures"),
        ("ivo", "/verify", "file"),
    ],
)
@pytest.mark.parametrize("name", ["run.exe", "drawing.svg", "page.html", "noending"])
def test_a_file_of_another_kind_is_refused_by_name(client, who, address, field, name):
    client.sign_in(who)

    answer = send(client, address, field, name)

    assert answer.status_code == 422
    assert "A file of this kind is not taken here." in answer.text
    assert name in answer.text


@pytest.mark.parametrize("name", ["roster.CSV", "roster.csv"])
def test_a_file_of_the_right_kind_is_read(client, name):
    client.sign_in("mia")

    assert "not taken here" not in send(client, "/people/roster/report", "file", name).text


def test_a_form_without_a_place_for_files_takes_none(client):
    client.sign_in()

    answer = send(client, "/practise/next", "topic", "marks.png")

    assert answer.status_code == 422
    assert "Send none." in answer.text


def test_a_costly_page_is_made_thirty_times_a_minute_and_no_more(client, monkeypatch):
    moment = time.time()
    monkeypatch.setattr(time, "time", lambda: moment)  # all within one minute, however slow
    limiter.reset()
    client.sign_in("mia")

    statuses = [client.get("/people/roster.csv").status_code for _ in range(31)]

    assert statuses == [200] * 30 + [429]
    assert client.get("/people/").status_code == 200


def test_pictures_and_calendars_are_saved_under_names_of_ours(client):
    client.sign_in()
    page = client.send("/classroom/calendar", seen="/classroom/calendar").text
    feed = re.search(r"/classroom/calendar/[\w-]+\.ics", page)[0]

    answer = client.get(feed)

    assert answer.headers["Content-Disposition"] == 'inline; filename="feed.ics"'
