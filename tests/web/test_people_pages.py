"""The pages on people: classes, invitations, roles, rosters."""

from __future__ import annotations

import re

from furnished import PASSWORD
from hidden_fields import hidden

from quizsvc.rules.actors import Role
from quizsvc.services.people import NewPerson, enrol
from quizsvc.store.people import find_for_sign_in


def test_people_are_kept_through_the_pages(app, house, clock, person):
    with house.write() as connection:
        new = NewPerson(
            "Ada Invented", "ada", house.passwords.hashed(PASSWORD), {Role.ADMINISTRATOR}
        )
        enrol(connection, None, 1, new, now=clock())
        lea_key = find_for_sign_in(connection, "lea").person_id
    ada, lea = person("ada"), person("lea")
    made = ada.send("/people/classes", {"name": "Evening"}, seen="/people/classes").headers[
        "Location"
    ]
    ada.send(f"{made}/put", {"person": str(lea_key), "part": "learner"}, seen=made)
    assert "Lea Invented" in ada.get(made).text
    page = ada.send(
        "/people/invitations",
        {"name": "Neo", "role": "learner", "days": "3"},
        seen="/people/invitations",
    ).text
    link = re.search(r"http://localhost(/people/join/[\w-]+)", page)[1]
    guest = app.test_client()

    joined = guest.send(
        link, {"name": "Neo", "sign_in_name": "neo", "password": "short"}, seen=link
    )
    assert joined.status_code == 422
    assert "10 to 200 characters" in joined.text
    guest.send(link, {"name": "Neo", "sign_in_name": "neo", "password": PASSWORD}, seen=link)
    assert guest.get(link).status_code == 404
    assert guest.sign_in("neo").status_code == 302

    ada.send(f"/people/{lea_key}/roles", {"role": "instructor"}, seen=f"/people/{lea_key}")
    assert lea.get("/classroom/assignments").status_code == 200
    ada.send(f"/people/{lea_key}/deactivate", seen=f"/people/{lea_key}")
    assert lea.get("/classroom/").status_code == 302
    log = ada.get("/people/log").text
    assert "Role given" in log
    assert "The whole chain holds" in log
    assert lea_key


def test_a_roster_is_shown_before_it_is_taken_over(person):
    mia = person("mia")
    lines = "name,sign_in_name,role,class\nNeo,neo,learner,Evening\nBad,,learner,\n"
    report = mia.send("/people/roster/report", {"pasted": lines}, seen="/people/roster").text
    assert "1 new, 0 changed, 0 as they are, 1 left out" in report
    text = re.search(r"<textarea[^>]*>(.*?)</textarea>", report, re.DOTALL)[1]

    done = mia.send(
        "/people/roster/take-over",
        {"text": text, "terms": hidden(report, "terms")},
        seen="/people/roster",
    )

    assert done.status_code == 200, done.text
    assert "/people/join/" in done.text
    assert "neo" in mia.get("/people/roster.csv").text
