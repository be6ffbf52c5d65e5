"""Many people practising at once, at a pace that does not wait for the server.

Each step of each person has its moment; how long it took counts from that moment, not from when
the client got round to sending it, so that a server that falls behind cannot hide it.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from time import perf_counter

from benched_server import Learner, post
from load_client import HOST, Phase, request

STEPS = ("ask for an item", "read the item", "answer", "read the outcome")


@dataclass
class Told:
    """What a run of the crowd saw: the seconds of each step, by step."""

    seconds: float = 0.0
    each: dict[str, list[float]] = field(default_factory=lambda: {step: [] for step in STEPS})
    wrong: list[str] = field(default_factory=list)

    def phase(self, step: str) -> Phase:
        return Phase(self.seconds, self.each[step])


class Person:
    """One learner on one connection: asks, reads, answers, reads the outcome, and again."""

    def __init__(self, learner: Learner, port: int, told: Told) -> None:
        self.learner, self.port, self.told = learner, port, told

    async def practise(self, first: float, gap: float, until: float) -> None:
        """Take steps ``gap`` seconds apart from the moment ``first`` on."""
        self._reader, self._writer = await asyncio.open_connection(HOST, self.port)
        due = first
        while due < until:
            asked, due = await self._step(STEPS[0], due, gap, self._post("/practise/next"), 302)
            place = _location(asked)
            page, due = await self._step(STEPS[1], due, gap, self._get(place), 200)
            if (answer := _answer_to(page)) is None:
                continue  # put in order, pairs, a place: one of those a plain reader cannot give
            sent, due = await self._step(STEPS[2], due, gap, self._post(place, **answer), 302)
            _, due = await self._step(STEPS[3], due, gap, self._get(_location(sent)), 200)
        self._writer.close()

    async def _step(
        self, step: str, due: float, gap: float, asked: bytes, status: int
    ) -> tuple[bytes, float]:
        await asyncio.sleep(max(0.0, due - perf_counter()))
        self._writer.write(asked)
        head = await self._reader.readuntil(b"\r\n\r\n")
        length = re.search(rb"(?i)content-length: (\d+)", head)
        body = await self._reader.readexactly(int(length[1])) if length else b""
        self.told.each[step].append(perf_counter() - due)
        if int(head[9:12]) != status:
            self.told.wrong.append(f"{step}: {head!r} {body[:300]!r}")
        return head + body, due + gap

    def _get(self, path: str) -> bytes:
        return request("GET", path, port=self.port, cookies=self.learner.cookies)

    def _post(self, path: str, **fields: str) -> bytes:
        return post(self.learner, path, self.port, **fields)


def practise_at(rate: float, seconds: float, learners: Sequence[Learner], port: int) -> Told:
    """Let everybody practise so that together they give ``rate`` answers a second."""
    told = Told()
    gap = len(learners) / rate / len(STEPS)

    async def everybody() -> None:
        begun = perf_counter() + 0.5
        firsts = [begun + n * gap * len(STEPS) / len(learners) for n in range(len(learners))]
        await asyncio.gather(
            *(
                Person(one, port, told).practise(first, gap, begun + seconds)
                for one, first in zip(learners, firsts, strict=True)
            )
        )
        told.seconds = perf_counter() - begun

    asyncio.run(everybody())
    return told


def _location(head: bytes) -> str:
    found = re.search(rb"(?i)\r\nlocation: ([^\r]+)", head)
    return found[1].decode() if found else "/practise/"


def _answer_to(page: bytes) -> dict[str, str] | None:
    if b'name="choice"' in page:
        return {"choice": "1"}
    return {"number": "1"} if b'name="number"' in page else None
