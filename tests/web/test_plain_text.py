"""What no request may hold, and numbers that are no address."""

import pytest


@pytest.mark.parametrize("address", ["/practise/items/%00", "/practise/?topic=a%00b"])
def test_a_nul_in_an_address_is_refused_in_words(lea, address):
    answer = lea.get(address)

    assert answer.status_code == 422
    assert "no text (NUL)" in answer.text


def test_a_nul_in_a_field_is_refused_and_named(lea):
    answer = lea.send("/practise/next", {"topic": "mar\x00ks"}, seen="/practise/")

    assert answer.status_code == 422
    assert "topic" in answer.text
    assert "\x00" not in answer.text


@pytest.mark.parametrize("number", [2**31, 2**63, 10**30])
def test_a_number_beyond_what_a_database_holds_is_no_address(client, number):
    client.sign_in("ivo")

    assert client.get(f"/classroom/assignments/{number}").status_code == 404
    assert client.get("/classroom/assignments/2147483647").status_code == 404
