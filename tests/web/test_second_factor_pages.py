"""The second factor in the browser's terms: pages, cookies, words, and being led to set it up."""

from __future__ import annotations

import re
from dataclasses import replace

import cv2
import numpy as np
import pytest
from furnished import PASSWORD
from sat_through_pages import begin, give_out, send_answer
from second_steps import light_hashes

from quizsvc.rules.second_factor import code_at, step_at
from quizsvc.services.second_step import HalfWay
from quizsvc.web.accounts.second_step import await_code
from quizsvc.web.app import create_app

__all__ = ["light_hashes"]  # a fixture

PAGE, BEGIN = "/account/second-factor", "/account/second-factor/begin"


def secret_on(page: str) -> str:
    return re.search(r'class="secret">([A-Z2-7 ]+)<', page)[1].replace(" ", "")


class Phone:
    """An authenticator app that has taken a secret in."""

    def __init__(self, secret: str, clock) -> None:
        self.secret, self.clock = secret, clock

    def shows(self) -> str:
        return code_at(self.secret, step_at(self.clock()))


def set_up(client, clock) -> tuple[Phone, list[str]]:
    """Turn a second factor on as its owner would; return the phone and the recovery codes."""
    client.send(BEGIN, seen=PAGE)
    phone = Phone(secret_on(client.get(PAGE).text), clock)
    page = client.send(f"{PAGE}/on", {"password": PASSWORD, "code": phone.shows()}, seen=PAGE)
    assert page.status_code == 200
    clock.pass_time(minutes=1)
    return phone, re.findall(r"<li>([A-Z2-7-]+)</li>", page.text)


@pytest.fixture
def phone(lea, clock) -> Phone:
    """Lea's phone; she is signed out again."""
    made, lea.codes = set_up(lea, clock)
    lea.send("/sign-out", seen="/account")
    return made


def half(client):
    return client.get_cookie("half")


def type_code(client, code: str, **more: str):
    return client.send("/sign-in/code", {"code": code, **more}, seen="/sign-in/code")


def test_setting_it_up_shows_picture_and_secret_without_style_or_script(lea):
    lea.send(BEGIN, seen=PAGE)

    page = lea.get(PAGE).text

    drawing = re.search(r'<svg role="img" aria-label="QR code[^>]*>.*?</svg>', page, re.DOTALL)[0]
    assert "style=" not in drawing
    assert "<script" not in page
    assert 'autocomplete="one-time-code"' in page
    assert 'inputmode="numeric"' in page
    assert 'autocomplete="current-password"' in page
    assert len(secret_on(page)) == 32


def modules_of(drawing: str) -> np.ndarray:
    """Return the dark modules of a drawn QR code, 1 for dark, by following its strokes."""
    side = int(re.search(r'viewBox="0 0 (\d+) \d+"', drawing)[1])
    dark, x, y = np.zeros((side, side), np.uint8), 0.0, 0.0
    strokes = re.findall(r'stroke="#000"[^>]* d="([^"]*)"', drawing)
    for letter, numbers in re.findall(r"([Mmh])([-\d. ]+)", strokes[0]):
        steps = [float(number) for number in re.findall(r"-?\d*\.?\d+", numbers)]
        if letter == "h":
            dark[int(y), int(x) : int(x + steps[0])] = 1
            x += steps[0]
        else:
            x, y = (steps[0], steps[1]) if letter == "M" else (x + steps[0], y + steps[1])
    return dark


def test_the_picture_drawn_is_the_address_an_app_reads(lea):
    """Read back, as drawn on the page, with another program's reader: OpenCV's."""
    lea.send(BEGIN, seen=PAGE)
    page = lea.get(PAGE).text
    drawing = re.search(r"<svg role.*?</svg>", page, re.DOTALL)[0]

    large = np.kron(255 - 255 * modules_of(drawing), np.ones((6, 6), np.uint8))
    read, *_ = cv2.QRCodeDetector().detectAndDecode(large)

    label, secret = "quizsvc%20localhost", secret_on(page)
    assert read == f"otpauth://totp/{label}:lea?secret={secret}&issuer={label}"


def test_recovery_codes_are_shown_once(lea, clock):
    _, codes = set_up(lea, clock)

    assert len(codes) == 10
    later = lea.get(PAGE).text + lea.get("/account").text
    assert not any(code in later for code in codes)
    assert "10 of 10" in later


@pytest.mark.usefixtures("phone")
def test_the_password_leads_to_a_second_page_and_opens_nothing(client):
    answer = client.sign_in("lea")

    assert answer.headers["Location"] == "/sign-in/code"
    assert client.get_cookie("place") is None
    assert client.get("/practise/").headers["Location"].startswith("/sign-in")


@pytest.mark.usefixtures("phone")
def test_the_cookie_between_the_two_is_kept_from_scripts_and_other_sites(client):
    answer = client.sign_in("lea")

    (stated,) = [c for c in answer.headers.getlist("Set-Cookie") if c.startswith("half=")]
    assert "HttpOnly" in stated
    assert "SameSite=Strict" in stated
    assert "Max-Age" not in stated
    assert "Domain" not in stated


def test_the_code_leads_to_the_page_asked_for_and_takes_the_cookie_back(client, phone):
    wanted = "/sign-in?next=/practise/history?topic%3Dmarks"
    first = client.send(wanted, {"name": "lea", "password": PASSWORD}, seen="/sign-in")
    at = first.headers["Location"]

    answer = client.send(at, {"code": phone.shows()}, seen=at)

    assert answer.headers["Location"] == "/practise/history?topic=marks"
    assert half(client) is None
    assert client.get("/practise/history").status_code == 200


@pytest.mark.parametrize("target", ["https://elsewhere.example/", "//elsewhere.example"])
def test_after_the_code_nobody_is_led_elsewhere(client, phone, target):
    client.sign_in("lea")
    sent = {"csrf_token": client.form_token("/sign-in/code"), "code": phone.shows()}

    answer = client.post("/sign-in/code", query_string={"next": target}, data=sent)

    assert answer.headers["Location"] == "/"


def test_wrong_used_and_made_up_codes_read_alike(client, phone):
    client.sign_in("lea")
    type_code(client, phone.shows())
    client.send("/sign-out", seen="/account")
    client.sign_in("lea")
    pages = [
        type_code(client, phone.shows()),
        type_code(client, "12"),
        type_code(client, "", recovery="AAAA-BBBB-CCCC-DDDD"),
    ]

    assert {page.status_code for page in pages} == {422}
    said = {re.search(r'role="alert">(.*?)</div>', page.text, re.DOTALL)[1] for page in pages}
    assert len(said) == 1
    assert "This code does not count." in said.pop()


@pytest.mark.usefixtures("phone")
def test_what_was_typed_does_not_come_back(client):
    client.sign_in("lea")

    page = type_code(client, "987654", recovery="ZYXW-VUTS-RQPO-NMLK")

    assert "987654" not in page.text
    assert "ZYXW" not in page.text


@pytest.mark.usefixtures("phone")
def test_a_recovery_code_signs_in_once(client):
    client.sign_in("lea")
    assert type_code(client, "", recovery=client.codes[0]).status_code == 302
    client.send("/sign-out", seen="/account")
    client.sign_in("lea")

    assert type_code(client, "", recovery=client.codes[0]).status_code == 422


def test_after_five_minutes_one_starts_again(client, phone, clock):
    client.sign_in("lea")
    token = client.form_token("/sign-in/code")
    clock.pass_time(minutes=5)

    late = client.post("/sign-in/code", data={"csrf_token": token, "code": phone.shows()})

    assert late.headers["Location"] == "/sign-in"
    assert "This sign-in waited too long" in client.get("/sign-in").text
    assert client.get("/sign-in/code").headers["Location"] == "/sign-in"


def test_without_a_password_before_it_there_is_no_second_page(client):
    assert client.get("/sign-in/code").headers["Location"] == "/sign-in"


def test_another_browser_cannot_go_on_with_this_ones_sign_in(app, client, phone):
    client.sign_in("lea")
    other = app.test_client()
    sent = {"csrf_token": other.form_token("/sign-in"), "code": phone.shows()}

    answer = other.post("/sign-in/code", data=sent)

    assert answer.headers["Location"] == "/sign-in"
    assert other.get_cookie("place") is None


@pytest.mark.usefixtures("phone")
def test_guessing_codes_is_braked_and_says_when_to_try_again(client):
    client.sign_in("lea")
    answers = [type_code(client, "12") for _ in range(6)]

    assert [answer.status_code for answer in answers] == [422] * 5 + [429]
    assert "Try again in" in answers[-1].text


def test_under_another_secret_key_nobody_gets_in_and_the_page_says_why(house, client, phone):
    client.sign_in("lea")
    house.settings = replace(house.settings, secret_key="another invented key, 32 and more letters")

    page = type_code(client, phone.shows())

    assert page.status_code == 503
    assert "another secret key" in page.text


def test_it_is_turned_off_by_password_and_code(client, phone, clock):
    client.sign_in("lea")
    type_code(client, phone.shows())
    clock.pass_time(minutes=1)
    wrong = client.send(f"{PAGE}/off", {"password": PASSWORD, "code": "12"}, seen=PAGE)
    assert wrong.status_code == 422
    assert "are not both right" in wrong.text

    client.send(f"{PAGE}/off", {"password": PASSWORD, "code": phone.shows()}, seen=PAGE)

    client.send("/sign-out", seen="/account")
    assert client.sign_in("lea").headers["Location"] == "/"


def ask_of(app, *roles: str) -> None:
    manager = app.test_client()
    manager.sign_in("mia")
    answer = manager.send("/people/signing-in", {"role": list(roles)}, seen="/people/signing-in")
    assert answer.status_code == 302


def test_a_manager_says_who_must(app, client):
    ask_of(app, "instructor", "administrator")
    client.sign_in("mia")

    page = client.get("/people/signing-in").text

    ticked = re.findall(r'name="role" value="(\w+)" checked', page)
    assert ticked == ["instructor", "administrator"]
    assert "0 of 2 have one" in page


@pytest.mark.parametrize("place", ["/", "/practise/", "/bank/", "/account", "/people/classes"])
def test_who_owes_one_is_led_to_set_it_up_wherever_they_go(app, client, place):
    ask_of(app, "instructor")
    client.sign_in("ivo")

    answer = client.get(place)

    assert answer.headers["Location"] == PAGE
    page = client.get(PAGE).text
    assert "Your shop asks this of you" in page
    assert "/practise/" not in page


def test_who_owes_one_changes_nothing_either(app, client):
    client.sign_in("ivo")
    token = client.form_token("/practise/")
    ask_of(app, "instructor")

    answer = client.post("/practise/next", data={"csrf_token": token})

    assert answer.headers["Location"] == PAGE


def test_once_it_is_on_everything_opens_and_signing_out_was_never_shut(app, client, clock):
    ask_of(app, "instructor")
    client.sign_in("ivo")

    set_up(client, clock)

    assert client.get("/practise/").status_code == 200
    client.send("/sign-out", seen="/practise/")
    assert client.get("/practise/").headers["Location"].startswith("/sign-in")


def test_who_is_asked_nothing_sees_no_difference(app, client):
    ask_of(app, "instructor")
    client.sign_in("lea")

    assert client.get("/practise/").status_code == 200


def test_who_sits_a_timed_test_is_not_hindered_and_led_there_afterwards(app, client, request):
    instructor = app.test_client()
    instructor.sign_in("ivo")
    test = give_out(instructor, request.getfixturevalue("room"))
    client.sign_in("lea")
    sitting = begin(client, test)
    ask_of(app, "learner")

    saved = send_answer(client, f"{sitting}/1", choice="2", do="end")

    assert saved.headers["Location"] == f"{sitting}/hand-in"
    client.send(f"{sitting}/hand-in", seen=f"{sitting}/hand-in")
    assert client.get(f"{sitting}/review").headers["Location"] == PAGE


@pytest.mark.usefixtures("phone")
def test_a_manager_resets_a_lost_one(app, client):
    manager = app.test_client()
    manager.sign_in("mia")
    person = re.search(r'href="(/people/\d+)">Lea', manager.get("/people/").text)[1]
    assert "Reset the second factor" in manager.get(person).text

    manager.send(f"{person}/reset-second-factor", seen=person)

    assert "Reset the second factor" not in manager.get(person).text
    assert client.sign_in("lea").headers["Location"] == "/"


def test_the_log_holds_no_code_secret_or_name(lea, clock, caplog, capfd):
    caplog.set_level("DEBUG")
    phone, codes = set_up(lea, clock)
    lea.send("/sign-out", seen="/account")
    lea.sign_in("lea")
    code = phone.shows()
    type_code(lea, code)
    clock.pass_time(minutes=1)
    lea.send("/sign-out", seen="/account")
    lea.sign_in("lea")
    type_code(lea, "", recovery=codes[0])

    out, err = capfd.readouterr()
    logged = out + err + caplog.text
    assert "signed in" in logged
    for secret in (phone.secret, code, codes[0], codes[0].replace("-", ""), PASSWORD, "Lea"):
        assert secret not in logged, secret


def test_over_https_the_cookie_is_bound_to_the_host(house, clock):
    house.settings = replace(house.settings, public_url="https://localhost")
    app = create_app(house, clock=clock)

    with app.test_request_context("/sign-in"):
        stated = await_code(HalfWay("x")).headers["Set-Cookie"]

    assert stated.startswith("__Host-half=x;")
    assert "Secure" in stated
    assert "Path=/" in stated
