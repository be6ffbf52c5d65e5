"""Every route of the URL map, asked for by nobody in particular: shut unless listed as open."""

import pytest
from sqlalchemy import text

OPEN = {
    "static",
    "operating.health",
    "operating.ready",
    "operating.metrics",
    "accounts.sign_in",
    "accounts.check_sign_in",
    "accounts.sign_out",
    # Whoever is shown a certificate may ask whether it stands; keys and status are published.
    *("verifying.ask", "verifying.check", "verifying.certificate", "verifying.issuer"),
    *("verifying.status_list", "verifying.achievement"),
    # Their addresses hold a secret of 128 bits that stands for the right to open them.
    "classroom.feed",
    "admin.join",
    "admin.use",
}


def routes(app):
    """Return (endpoint, method, address) of every route, its parameters filled in."""
    found = []
    for rule in app.url_map.iter_rules():
        with app.test_request_context():
            values = dict.fromkeys(rule.arguments, "1")
            address = app.url_for(rule.endpoint, **values).removeprefix("http://localhost")
        found += [(rule.endpoint, method, address) for method in sorted(rule.methods - {"OPTIONS"})]
    return found


def test_without_signing_in_only_the_listed_routes_are_open(app, client):
    shut = [route for route in routes(app) if route[0] not in OPEN]
    token = client.form_token()

    assert len(shut) >= 8
    for endpoint, method, address in shut:
        fields = {} if method in {"GET", "HEAD"} else {"csrf_token": token}
        answer = client.open(address, method=method, data=fields or None)

        assert answer.status_code == 302, endpoint
        assert answer.headers["Location"].startswith("/sign-in"), endpoint


def test_the_list_of_open_routes_names_no_route_that_is_gone(app):
    assert {endpoint for endpoint, *_ in routes(app)} >= OPEN


@pytest.mark.parametrize("name", ["lea", "ivo", "mia"])
def test_every_role_may_practise(client, name):
    client.sign_in(name)

    for address in ("/practise/", "/practise/history", client.put_next()):
        assert client.get(address).status_code == 200


def test_a_role_taken_away_counts_at_the_next_request(lea, house):
    assert lea.get("/practise/").status_code == 200

    with house.write() as connection:
        connection.execute(text("DELETE FROM membership WHERE person_id = 1"))

    assert lea.get("/practise/").headers["Location"].startswith("/sign-in")
