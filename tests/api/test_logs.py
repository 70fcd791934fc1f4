"""Log lines: one JSON object each, no secret in any. Source: OWASP ASVS 5.0.0, V16.2.5, V16.4.1."""

import json
import logging
import sys

import pytest

from api import logs

TOKEN = "q3Jd0bXnq8vTzY1mW4kLrA"


def line_of(message: str, *args: object, **extra: object) -> dict[str, object]:
    record = logging.LogRecord("api.test", logging.INFO, __file__, 1, message, args, None)
    record.__dict__.update(extra)
    written = logs.JsonLines().format(record)
    assert "\n" not in written
    line: dict[str, object] = json.loads(written)
    return line


def test_a_line_has_time_level_logger_and_message() -> None:
    line = line_of("%s fits", "valve")
    assert line["msg"] == "valve fits"
    assert line["level"] == "INFO"
    assert line["logger"] == "api.test"
    assert str(line["ts"]).endswith("+00:00")


def test_known_facts_are_written_and_others_are_not() -> None:
    line = line_of("sent", lab="Z901", ms=12, password="hunter2")
    assert (line["lab"], line["ms"]) == ("Z901", 12)
    assert "hunter2" not in json.dumps(line)


def test_the_request_id_of_the_moment_is_written() -> None:
    token = logs.request_id.set("abcdef12")
    try:
        assert line_of("x")["request_id"] == "abcdef12"
    finally:
        logs.request_id.reset(token)


@pytest.mark.parametrize("path", [f"/s/{TOKEN}", f"/status/{TOKEN}/calendar.ics", f"//x/{TOKEN}?a"])
def test_the_token_of_a_link_is_masked(path: str) -> None:
    assert TOKEN not in str(line_of("GET %s", path)["msg"])
    assert "****" in str(line_of("GET %s", path)["msg"])


def test_the_code_of_a_tag_is_not_masked() -> None:
    assert line_of("GET /t/0123456789ABC")["msg"] == "GET /t/0123456789ABC"


def test_a_message_cannot_begin_a_line_of_its_own() -> None:
    assert line_of("agent %s", 'x\r\n{"level": "CRITICAL"}')["level"] == "INFO"
    record = logging.LogRecord("a", logging.INFO, "", 1, "a\r\nb", (), None)
    assert logs.OneLine().format(record).count("\n") == 0


def fail_at(path: str) -> None:
    raise ValueError(f"no page at {path}")


@pytest.mark.parametrize("formatter", [logs.JsonLines(), logs.OneLine()])
def test_a_traceback_keeps_its_files_and_loses_the_token(formatter: logging.Formatter) -> None:
    try:
        fail_at(f"/s/{TOKEN}")
    except ValueError:
        record = logging.LogRecord("a", logging.ERROR, "", 1, "failed", (), sys.exc_info())
    written = formatter.format(record)
    assert TOKEN not in written
    assert "tests/api/test_logs.py" in written
