"""Which places the head of the page leads to, by role."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request, url_for

from quizsvc.rules.actors import Actor


@dataclass(frozen=True, slots=True)
class Way:
    title: str
    address: str
    here: bool


# Every role practises; what a role alone may see is added where its pages are.
_FOR_EVERYONE = (
    ("Practice", "practise.overview"),
    ("Bench", "bench.engines"),
    ("History", "practise.history"),
)
_UNDER = {
    "practise.item": "practise.overview",
    "practise.outcome": "practise.overview",
    "bench.engine": "bench.engines",
}


def ways_for(_actor: Actor) -> tuple[Way, ...]:
    here = _UNDER.get(request.endpoint or "", request.endpoint)
    return tuple(Way(title, url_for(place), place == here) for title, place in _FOR_EVERYONE)
