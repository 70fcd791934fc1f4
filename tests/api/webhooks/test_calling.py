"""A call over real https: what the other side does wrong is an answer, never a fault of ours."""

import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler
from pathlib import Path

import pytest

from api.webhooks import addresses, calling
from api.webhooks.calling import Way
from cylinders.rules.refusal import Refused
from tests.api.webhooks.receiver import HOST, URL, Receiver, Talk, receiver

TARGET = addresses.read(URL, own_host="shop.example.org")


@pytest.fixture
def there(tmp_path: Path) -> Iterator[Receiver]:
    with receiver(tmp_path) as one:
        yield one


def call(there: Receiver) -> calling.Answer:
    return calling.post(TARGET, '{"é": 1}', {"webhook-id": "call_1_2"}, way=there.way)


def test_the_body_and_headers_arrive_as_they_are(there: Receiver) -> None:
    answer = call(there)
    assert (answer.taken, answer.says) == (True, "204 No Content")
    [(path, headers, body)] = there.got
    assert (path, headers["Host"].split(":")[0], body) == ("/in?shop=1", HOST, '{"é": 1}')
    assert headers["webhook-id"] == "call_1_2"


@pytest.mark.parametrize("status", [301, 302, 307, 400, 404, 410, 429, 500, 503])
def test_anything_but_2xx_is_not_taken_and_no_redirect_is_followed(
    there: Receiver, status: int
) -> None:
    there.answer, there.headers = status, {"Location": "https://127.0.0.1/inside"}
    answer = call(there)
    assert (answer.status, answer.taken, answer.gone) == (status, False, status == 410)
    assert len(there.got) == 1


def test_a_certificate_of_another_name_is_not_trusted(tmp_path: Path) -> None:
    with receiver(tmp_path, host="other.example.test") as there:
        answer = call(there)
    assert answer.status is None
    assert "certificate" in answer.says.lower()
    assert there.got == []


def test_an_unknown_issuer_is_not_trusted(there: Receiver) -> None:
    plain = Way(resolve=there.way.resolve, is_public=there.way.is_public, port=there.way.port)
    answer = calling.post(TARGET, "{}", {}, way=plain)
    assert answer.status is None
    assert "certificate" in answer.says.lower()
    assert there.got == []


def test_nobody_at_the_port_is_an_answer(there: Receiver) -> None:
    away = Way(resolve=there.way.resolve, is_public=there.way.is_public, port=1, tls=there.way.tls)
    assert calling.post(TARGET, "{}", {}, way=away).status is None


def test_the_real_rule_lets_nothing_of_this_machine_be_called(there: Receiver) -> None:
    real = Way(resolve=there.way.resolve, port=there.way.port, tls=there.way.tls)
    with pytest.raises(Refused, match="not public"):
        calling.post(TARGET, "{}", {}, way=real)
    assert there.got == []


def _never_ends(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.end_headers()
    try:
        for _ in range(10_000):
            handler.wfile.write(b"x" * 65_536)
    except OSError:
        return


def _drips(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.end_headers()
    try:
        for _ in range(100):
            handler.wfile.write(b"x")
            time.sleep(0.05)
    except OSError:
        return


def _drips_a_header(handler: BaseHTTPRequestHandler) -> None:
    try:
        for sign in b"HTTP/1.1 200 OK\r\nX: " + b"x" * 200:
            handler.wfile.write(bytes([sign]))
            time.sleep(0.05)
    except OSError:
        return


def _says_nothing(handler: BaseHTTPRequestHandler) -> None:
    time.sleep(1)


def _speaks_nonsense(handler: BaseHTTPRequestHandler) -> None:
    handler.wfile.write(b"\x00\xff nonsense\r\n\r\n")


@pytest.mark.parametrize("talk", [_never_ends, _drips])
def test_an_endless_answer_is_read_a_little(there: Receiver, talk: Talk) -> None:
    there.talk = talk
    assert call(there).taken


@pytest.mark.parametrize("talk", [_drips_a_header, _says_nothing, _speaks_nonsense])
def test_a_slow_silent_or_senseless_answer_holds_nobody_up(
    there: Receiver, talk: Talk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calling, "PATIENCE", 0.3)
    monkeypatch.setattr(calling, "AT_MOST", 0.5)
    there.talk = talk
    answer = call(there)
    assert answer.status is None
    assert answer.says
