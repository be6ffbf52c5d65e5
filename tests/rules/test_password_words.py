"""Words at hand make a password easy to guess; a longer phrase may hold them."""

import pytest

from quizsvc.rules.password_words import WORDS, mostly_words

ABOUT = ["Lea Invented", "lea.invented@example.org", "Invented Garage"]


@pytest.mark.parametrize(
    "password",
    ["LeaInvented2026", "invented-garage", "Garage!Garage!1", "camshaft12345", "admin.manager.1"],
)
def test_names_and_words_of_the_trade_alone_are_refused(password):
    assert mostly_words(password, ABOUT)


@pytest.mark.parametrize(
    "password",
    ["four words of invention", "7401 9326 5518", "пароль моей мастерской", "lea likes old maps"],
)
def test_a_phrase_with_more_in_it_is_not(password):
    assert not mostly_words(password, ABOUT)


def test_the_name_of_another_does_not_count():
    assert mostly_words("tomwhitesmith1", ["Tom Whitesmith"])
    assert not mostly_words("tomwhitesmith1", ["Lea Invented"])


def test_the_words_are_in_the_form_they_are_compared_in():
    assert all(word == word.casefold() and word.isalpha() for word in WORDS)
