"""Requests that no browser sends, on a raw line to the real web server: turned away whole."""

import socket

from tests.faults.live import Live

START = b"POST /bench/login/ HTTP/1.1\r\n"
#: what is sent after the first line, and the statuses that it may get
STRANGE: dict[str, tuple[bytes, bytes, set[int]]] = {
    "two lengths of one body": (
        START,
        b"Content-Length: 6\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\nG",
        {400},
    ),
    "two different lengths": (START, b"Content-Length: 0\r\nContent-Length: 5\r\n\r\nhello", {400}),
    "a length below zero": (START, b"Content-Length: -5\r\n\r\n", {400}),
    "an unknown coding": (START, b"Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n", {400, 501}),
    "a second host": (b"GET / HTTP/1.1\r\n", b"Host: evil.example\r\n\r\n", {400}),
    "a blank in a name": (b"GET / HTTP/1.1\r\n", b"X : y\r\n\r\n", {400}),
    "a line break in a value": (b"GET / HTTP/1.1\r\n", b"User-Agent: a\rb\r\n\r\n", {400}),
    "a header of 100 kB": (
        b"GET / HTTP/1.1\r\n",
        b"X: " + b"a" * 100_000 + b"\r\n\r\n",
        {400, 431},
    ),
    "five thousand headers": (
        b"GET / HTTP/1.1\r\n",
        b"".join(b"X%d: a\r\n" % n for n in range(5_000)) + b"\r\n",
        {400, 431},
    ),
    "an address in UTF-8": ("GET /t/é HTTP/1.1\r\n".encode(), b"\r\n", {400}),
    "another host in the address": (
        b"GET http://evil.example/livez HTTP/1.1\r\n",
        b"Connection: close\r\n\r\n",
        {200},  # the address names a path; nothing of ours is made of its host
    ),
}


def status_of(live: Live, first: bytes, rest: bytes) -> tuple[int, bytes]:
    """What one raw request gets; the line is closed by the server."""
    with socket.create_connection(("127.0.0.1", live.port), timeout=10) as line:
        line.sendall(first + f"Host: 127.0.0.1:{live.port}\r\n".encode() + rest)
        answer = b""
        while more := line.recv(65_536):
            answer += more
    return int(answer.split(b" ", 2)[1]), answer


def test_each_is_turned_away_and_the_next_one_is_served(live: Live) -> None:
    live.run("django", "migrate", "--verbosity=0")
    live.start()
    got = {name: status_of(live, first, rest) for name, (first, rest, _) in STRANGE.items()}
    wrong = {name: got[name][0] for name, row in STRANGE.items() if got[name][0] not in row[2]}
    assert wrong == {}
    assert not [name for name, (_status, answer) in got.items() if b"evil" in answer]
    status, _ = status_of(live, b"GET /livez HTTP/1.1\r\n", b"Connection: close\r\n\r\n")
    assert status == 200
