"""Families as instructors see them; the key stands there, so learners never get these pages."""

import re

import pytest

from quizsvc.items.family import all_families


@pytest.fixture
def ivo(client):
    assert client.sign_in("ivo").status_code == 302
    return client


@pytest.mark.parametrize("name", ["lea", "mia"])
@pytest.mark.parametrize("address", ["/families/", "/families/piston-drop"])
def test_whoever_writes_no_items_is_kept_out_and_led_nowhere(client, name, address):
    client.sign_in(name)

    assert client.get(address).status_code == 403
    assert "/families/" not in client.get("/practise/").text


def test_every_family_is_listed(ivo):
    page = ivo.get("/families/").text

    assert all(f'href="/families/{family_id}"' in page for family_id in all_families())


def test_the_search_looks_into_misconceptions_too(ivo):
    page = ivo.get("/families/?words=lean+rod").text

    assert "/families/piston-drop" in page
    assert "/families/torque-units" not in page
    assert "No family says that" in ivo.get("/families/?words=zeppelin").text


def test_a_family_shows_samples_with_key_ideas_and_checks(ivo):
    page = ivo.get("/families/piston-drop?sheet=demo-vee-six").text

    assert re.findall(r"Sample (\d+)\n", page) == ["1", "2", "3"]
    for words in ("Key", "The lean of the rod forgotten", "Worked through", "Checks on this sheet"):
        assert words in page


def without_tokens(page):
    """Return the page without its form tokens, which hold the second they were made in."""
    return re.sub(r'name="csrf_token"[^>]*>', "", page)


def test_dealing_another_gives_other_questions_and_the_same_address_the_same(ivo):
    first = ivo.get("/families/piston-drop?from=1").text
    other = ivo.get("/families/piston-drop?from=4").text

    assert 'name="from" value="4"' in first
    assert re.findall(r'<div class="prompt">(.*?)</div>', first, re.DOTALL) != re.findall(
        r'<div class="prompt">(.*?)</div>', other, re.DOTALL
    )
    assert without_tokens(ivo.get("/families/piston-drop?from=1").text) == without_tokens(first)


def test_level_and_kind_can_be_chosen(ivo):
    page = ivo.get("/families/piston-drop?level=apply&kind=number").text

    assert page.count("apply · number") == 3


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("from=x", "whole numbers"),
        ("from=9999999999", "whole numbers"),
        ("from=99999999", "0 to 1000000"),
        ("sheet=nowhere", "no such engine sheet"),
        ("level=expert", "recall, apply, diagnose"),
        ("kind=order", "no such kind"),
    ],
)
def test_what_cannot_be_dealt_is_refused_in_words(ivo, query, words):
    answer = ivo.get(f"/families/piston-drop?{query}")

    assert answer.status_code == 422
    assert words in answer.text


def test_every_family_has_a_page_on_a_vee_engine(ivo):
    for family_id in all_families():
        answer = ivo.get(f"/families/{family_id}?sheet=demo-vee-six")

        assert answer.status_code == 200, family_id
        assert "Sample 1" in answer.text or "Not on this sheet" in answer.text, family_id


def test_a_family_opens_on_an_engine_that_has_what_it_asks_about(ivo):
    page = ivo.get("/families/belt-teeth-apart").text
    chain = ivo.get("/families/pins-apart").text

    assert "Sample 1" in page
    assert 'value="demo-inline-three" selected' in page
    assert "engines with a belt" in page
    assert "Sample 1" in chain
    assert 'value="demo-inline-three" selected' not in chain


def test_a_family_about_chains_says_that_a_belt_engine_has_none(ivo):
    page = ivo.get("/families/pins-apart?sheet=demo-inline-three").text

    assert "Not on this sheet" in page
    assert "Family pins-apart asks about a chain, and the engine has none." in page
