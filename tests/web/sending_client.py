"""A client without a browser that sends forms as a browser would."""

from __future__ import annotations

import re

from flask.testing import FlaskClient
from furnished import PASSWORD


class Browser(FlaskClient):
    """A client that sends forms with the token of a page seen before."""

    def form_token(self, address: str = "/sign-in") -> str:
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', self.get(address).text)
        assert found, f"{address} holds no form token"
        return found[1]

    def sign_in(self, name: str = "lea", password: str = PASSWORD):
        return self.send("/sign-in", {"name": name, "password": password}, seen="/sign-in")

    def put_next(self, **wish: str) -> str:
        """Ask for an item and return its address."""
        return self.send("/practise/next", wish, seen="/practise/").headers["Location"]

    def put_written(self, words: str) -> str:
        """Ask until the test bank's item with these words in its question comes."""
        for topic in ("safety", "procedure") * 20:
            address = self.put_next(topic=topic)
            if words in self.get(address).text:
                return address
        raise AssertionError(f"no item says {words!r}")

    def position_of(self, address: str, words: str) -> str:
        """Return the position at which the page shows these words as a choice."""
        page = self.get(address).text
        rows = re.findall(
            r'value="(\d+)"[^>]*>\s*<span class="datum".*?text">(.*?)</span>', page, re.DOTALL
        )
        return {text: number for number, text in rows}[words]

    def answer(self, address: str, fields: dict[str, object]):
        return self.send(address, fields, seen=address)

    def send(self, address: str, fields: dict[str, object] | None = None, *, seen: str):
        data = {"csrf_token": self.form_token(seen), **(fields or {})}
        return self.post(address, data=data)
