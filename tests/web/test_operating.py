"""What keeps the server running can ask: alive, ready, how it is doing. Logs name nobody."""

from __future__ import annotations

import logging

import pytest
from furnished import reopened_house

from quizsvc.web.app import create_app
from quizsvc.web.operating.observing import write_lines_as_json


@pytest.fixture
def metered(tmp_path):
    house = reopened_house(tmp_path, metrics_token="an invented token")
    yield create_app(house).test_client()
    house.close()


def test_a_living_process_says_so_without_the_database(client, house, monkeypatch):
    monkeypatch.setattr(type(house), "read", lambda _: pytest.fail("the database was asked"))

    assert client.get("/health").text == "alive\n"


def test_a_ready_server_says_so(client):
    assert client.get("/ready").text == "ready\n"


def test_a_server_with_old_tables_is_not_ready(client, house):
    with house.write() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0000'")

    answer = client.get("/ready")

    assert answer.status_code == 503
    assert "database upgrade" in answer.text


def test_metrics_do_not_exist_without_a_token(client):
    assert client.get("/metrics").status_code == 404


@pytest.mark.parametrize("given", ["", "Bearer another", "an invented", "Bearer ü"])
def test_metrics_are_shut_to_whoever_lacks_the_token(metered, given):
    assert metered.get("/metrics", headers={"Authorization": given}).status_code == 404


def test_metrics_count_requests_by_route(metered):
    metered.get("/health")

    numbers = metered.get("/metrics", headers={"Authorization": "Bearer an invented token"}).text

    assert 'quizsvc_requests_total{method="GET",route="operating.health",status="200"}' in numbers
    assert "quizsvc_request_seconds_bucket" in numbers


def test_every_answer_carries_a_request_id(client):
    first, second = (client.get("/health").headers["X-Request-Id"] for _ in range(2))

    assert first != second


def test_a_proxys_request_id_is_kept_and_an_odd_one_replaced(client):
    kept = client.get("/health", headers={"X-Request-Id": "proxy-0123456789"})
    odd = client.get("/health", headers={"X-Request-Id": "<script>"})

    assert kept.headers["X-Request-Id"] == "proxy-0123456789"
    assert "<" not in odd.headers["X-Request-Id"]


def test_log_lines_hold_the_route_and_nobody_and_nothing_typed(client, capsys):
    handlers = logging.getLogger().handlers[:]
    try:
        write_lines_as_json()
        client.sign_in("lea")
        client.get("/practise/history?topic=marks")
    finally:
        logging.getLogger().handlers[:] = handlers

    lines = capsys.readouterr().err
    assert '"route": "practise' in lines
    assert "request_id" in lines
    for secret in ("lea", "Lea", "four words", "topic=marks", "csrf"):
        assert secret not in lines
