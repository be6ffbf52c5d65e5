"""The page of components, for people who work on the look."""

from dataclasses import replace

import pytest

from quizsvc.web.app import create_app
from quizsvc.web.components.views import PAGES


@pytest.fixture
def looking(house):
    house.settings = replace(house.settings, page_of_components=True)
    return create_app(house).test_client()


def test_components_are_hidden_unless_switched_on(client):
    assert client.get("/components/").status_code == 404


@pytest.mark.parametrize("name", ["", *PAGES])
def test_every_component_is_shown_in_every_state(looking, name):
    answer = looking.get(f"/components/{name}")

    assert answer.status_code == 200
    assert "<h1" in answer.text


def test_an_unknown_page_of_components_is_not_found(looking):
    assert looking.get("/components/none").status_code == 404
