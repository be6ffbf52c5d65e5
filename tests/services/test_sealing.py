"""Sealed secrets: what opens them, and what does not."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from quizsvc.errors import UnavailableError
from quizsvc.services.sealing import opened, sealed

# Sealed by an earlier version of this program: what lies in databases must go on opening.
EARLIER = "RZ5RjXOublh5bMaDQjZ/k/VtZRjp1EhyqoX8ttLCYdWS+xZzpKqIy+g2aZQKpK48z6U6Yw=="


def house(key: str = "x" * 64):
    return SimpleNamespace(settings=SimpleNamespace(secret_key=key))


def open_it(content: str, *, purpose="signing keys", owner="shop 1", key="x" * 64):
    return opened(house(key), purpose, owner, content, what="it", otherwise="make another")


def test_a_sealed_secret_opens_and_does_not_lie_there_in_the_open():
    content = sealed(house(), "signing keys", "shop 1", "z-secret")

    assert open_it(content) == "z-secret"
    assert "z-secret" not in content
    assert content != sealed(house(), "signing keys", "shop 1", "z-secret")


def test_what_was_sealed_before_still_opens():
    assert open_it(EARLIER) == "z-an-earlier-private-key"


@pytest.mark.parametrize(
    "otherwise", [{"purpose": "second factors"}, {"owner": "shop 2"}, {"key": "y" * 64}]
)
def test_it_opens_for_no_other_purpose_owner_or_key(otherwise):
    content = sealed(house(), "signing keys", "shop 1", "z-secret")

    with pytest.raises(UnavailableError, match="another secret key") as refusal:
        open_it(content, **otherwise)
    assert refusal.value.remedy == "Put the former secret key back, or make another."
    assert "z-secret" not in str(refusal.value)
