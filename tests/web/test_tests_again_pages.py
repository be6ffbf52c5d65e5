"""The pages by which finished tests are marked again, and where people read both results."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from furnished import Clock, address_in, drop_house
from sat_again import (
    CORRECTED,
    FIRST_KEY,
    WHY,
    correct_key,
    crew_with_item,
    give_out,
    mark,
    plan,
    scheme_that_asks_it,
    sit,
    sit_for_certificate,
)
from sending_client import Browser
from test_tests_marked_again import AT_END
from workshop import NOON, PASSWORD, Workshop, open_house, stock

from quizsvc.rules.tests_again import Remedy
from quizsvc.services.sitting import closing
from quizsvc.web.app import create_app

LATER = NOON + timedelta(days=1)


@pytest.fixture
def crew_and_item(tmp_path):
    house = open_house(address_in(tmp_path), tmp_path, upgrade=True)
    shop_id, people = stock(house, tmp_path)
    yield crew_with_item(Workshop(house, shop_id, people))
    house.close()
    drop_house(tmp_path)


@pytest.fixture
def crew(crew_and_item):
    return crew_and_item[0]


@pytest.fixture
def item_id(crew_and_item):
    return crew_and_item[1]


@pytest.fixture
def signed_in(crew):
    """Return what gives a client in which somebody is signed in."""
    app = create_app(crew.house, clock=Clock(LATER))
    app.test_client_class = Browser

    def enter(name):
        client = app.test_client()
        assert client.sign_in(name, PASSWORD).status_code == 302
        return client

    return enter


@pytest.fixture
def sat(crew, item_id):
    """A test sat by Ana and Ben whose key was corrected since; the sitting of Ana."""
    test = give_out(crew, AT_END)
    token = sit(crew, test, crew.ana, CORRECTED)
    sit(crew, test, crew.ben, FIRST_KEY)
    closing.count_all_told(crew.house, now=AT_END.due_at)
    correct_key(crew, item_id, CORRECTED, LATER)
    return token


def told_on(page):
    """Return the words of a page, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def sent(client, item_id, **fields):
    address = f"/bank/items/{item_id}/tests"
    seen = re.search(r'name="seen" value="([^"]+)"', client.get(address).text)
    data = {"seen": seen[1], "remedy": "marked again", "why": WHY} | fields
    return client.send(address, data, seen=address)


@pytest.mark.usefixtures("sat")
def test_the_item_leads_to_the_finished_tests_and_they_say_what_would_change(signed_in, item_id):
    ida = signed_in("ida")
    item = ida.get(f"/bank/items/{item_id}")
    assert "2 finished sittings asked another version" in told_on(item.text)
    assert f'href="/bank/items/{item_id}/tests"' in item.text

    page = told_on(ida.get(f"/bank/items/{item_id}/tests").text)

    assert f"Right by the key in use: {CORRECTED}" in page
    assert "Nothing has been changed yet" in page
    assert f"Ana {CORRECTED} not right right 1 of 2 2 of 2 1 of 1" in page
    assert "2 of 2 results would change." in page


@pytest.mark.usefixtures("sat")
def test_answers_marked_again_lead_to_the_tests_too(signed_in, crew, item_id):
    correct_key(crew, item_id, FIRST_KEY, LATER, mark_answers=True)
    ida = signed_in("ida")
    (address,) = re.findall(
        rf'href="(/bank/items/{item_id}/remarks/\d+)"', ida.get(f"/bank/items/{item_id}").text
    )

    page = ida.get(address).text

    assert f'href="/bank/items/{item_id}/tests"' in page


@pytest.mark.usefixtures("sat")
def test_done_it_says_so_and_stands_under_what_was_done_before(signed_in, item_id):
    ida = signed_in("ida")

    answer = sent(ida, item_id)

    assert answer.status_code == 302
    page = told_on(ida.get(answer.headers["Location"]).text)
    assert "Done for 2 finished sittings; 2 of them have another result now." in page
    assert "Marked again by version 2: 2 of 2 results changed" in page
    assert "Every finished sitting that could be is marked by the key in use" in page
    assert 'value="marked again"' not in ida.get(answer.headers["Location"]).text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"why": " "}, "A reason has from"),
        ({"remedy": "forget"}, "Nothing is chosen"),
        ({"seen": "another"}, "Results have changed since you looked"),
    ],
)
@pytest.mark.usefixtures("sat")
def test_what_cannot_be_done_is_said_on_the_page_and_nothing_is_done(
    signed_in, crew, item_id, fields, says
):
    answer = sent(signed_in("ida"), item_id, **fields)

    assert answer.status_code == 422
    assert says in told_on(answer.text)
    assert len(plan(crew, item_id).to_mark) == 2


def test_without_finished_tests_the_page_says_so(signed_in, item_id):
    page = signed_in("ida").get(f"/bank/items/{item_id}/tests")

    assert "No finished test is left" in page.text
    assert '<form class="decide"' not in page.text


def test_a_learner_reads_both_results_of_a_test_and_why(signed_in, crew, item_id, sat):
    mark(crew, item_id, LATER)

    page = told_on(signed_in("ana").get(f"/classroom/sittings/{sat}/review").text)

    assert "2 of 2 right" in page
    assert f"was marked by its corrected key by Ida on 3 March 2026, 12:00 UTC : {WHY}" in page
    assert "Result before: 1 of 2 ; since: 2 of 2" in page
    assert f"First marked not right; right was said to be: {FIRST_KEY}" in page


def test_a_learner_reads_both_marks_in_the_history(signed_in, crew, item_id, sat):
    mark(crew, item_id, LATER)

    page = told_on(signed_in("ana").get("/practise/history").text)

    assert sat
    assert f"First not right; right was said to be: {FIRST_KEY}" in page
    assert f"Now right; right is: {CORRECTED} Why {WHY}" in page


def test_a_void_question_is_told_on_the_review(signed_in, crew, item_id, sat):
    mark(crew, item_id, LATER, remedy=Remedy.VOID)

    page = told_on(signed_in("ana").get(f"/classroom/sittings/{sat}/review").text)

    assert "was declared void by Ida" in page
    assert "Result before: 1 of 2 ; since: 1 of 1" in page


@pytest.fixture
def decided(crew, item_id):
    """Ana was certified by what the wrong key said; it is corrected, her test marked again."""
    version = scheme_that_asks_it(crew)
    form_id = sit_for_certificate(crew, version, crew.ana, FIRST_KEY, certify=True)
    correct_key(crew, item_id, CORRECTED, LATER)
    mark(crew, item_id, LATER)
    return form_id


def test_a_result_below_the_cut_is_put_before_the_one_who_decides(signed_in, decided):
    manager = signed_in("max")

    listed = told_on(manager.get("/certificates/candidates").text)
    case = told_on(manager.get(f"/certificates/candidates/{decided}").text)

    assert "Results that changed since they were decided on" in listed
    assert "Decided by Max on 3 of 4; now 2 of 4: below the cut, with a certificate" in listed
    assert "it counts 2 of 4 now, which is below the cut" in case
    assert "Nothing was revoked or issued by itself" in case
    assert "Do not certify" in case


def test_a_decision_let_stand_leaves_the_list_and_is_read_by_the_candidate(signed_in, decided):
    manager, address = signed_in("max"), f"/certificates/candidates/{decided}"

    answer = manager.send(f"{address}/uphold", {"reason": "She showed it."}, seen=address)

    assert answer.status_code == 302
    assert "since they were decided on" not in manager.get("/certificates/candidates").text
    assert "Max let the decision stand" in told_on(manager.get(address).text)
    own = told_on(signed_in("ana").get("/certificates/").text)
    assert "First result: 3 of 4; it counts 2 of 4 now" in own
    assert "The decision stands, says Max: “She showed it.”" in own


def test_nobody_upholds_without_a_reason(signed_in, decided):
    manager, address = signed_in("max"), f"/certificates/candidates/{decided}"

    answer = manager.send(f"{address}/uphold", {"reason": ""}, seen=address)

    assert answer.status_code == 422
    assert "A reason is needed here" in told_on(answer.text)
