"""Where a request ends: the real server refuses all that could be read in two ways."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator

import pytest
from real_server import HOST, RealServer

from quizsvc.config import settings_from
from quizsvc.services.house import House

HIDDEN = b"GET /health HTTP/1.1\r\nHost: {host}\r\n\r\n"
AMBIGUOUS = {
    "both lengths": b"Content-Length: 6\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + HIDDEN,
    "two lengths": b"Content-Length: 0\r\nContent-Length: 44\r\n\r\n" + HIDDEN,
    "an unknown coding": b"Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n" + HIDDEN,
    "a space before the colon": b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n" + HIDDEN,
}


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[RealServer]:
    instance = tmp_path_factory.mktemp("framing")
    House.open(settings_from({"QUIZSVC_INSTANCE": str(instance)}), upgrade=True).close()
    running = RealServer(instance, workers=1)
    running.start()
    yield running
    running.kill()


def statuses(server: RealServer, request: bytes) -> list[bytes]:
    """Send bytes and return the status of every answer until the server closes."""
    host = f"{HOST}:{server.port}".encode()
    with socket.create_connection((HOST, server.port), 10) as connection:
        connection.sendall(request.replace(b"{host}", host))
        received = b"".join(iter(lambda: connection.recv(65536), b""))
    return re.findall(rb"HTTP/1\.1 (\d{3})", received)


def test_two_plain_requests_in_a_row_get_two_answers(server):
    last = b"GET /health HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"

    assert statuses(server, HIDDEN + last) == [b"200", b"200"]


@pytest.mark.parametrize("framing", AMBIGUOUS)
def test_a_request_that_could_end_in_two_places_is_refused_and_hides_no_other(server, framing):
    request = b"POST /sign-in HTTP/1.1\r\nHost: {host}\r\n" + AMBIGUOUS[framing]

    assert statuses(server, request) == [b"400"]


def test_nothing_is_traced_by_the_real_server(server):
    request = b"TRACE /health HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"

    assert statuses(server, request) == [b"405"]
