"""Headers of every answer. Source: OWASP ASVS 5.0.0, V3.4.3, V3.4.4, V3.4.5, V3.4.6, V14.3.2."""

import logging
from collections.abc import Mapping

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from api import middleware


def policy_of(headers: Mapping[str, str]) -> dict[str, list[str]]:
    parts = (part.split() for part in headers["Content-Security-Policy"].split(";"))
    return {name: values for name, *values in parts}


def test_a_page_runs_no_script_but_its_own(client: Client) -> None:
    policy = policy_of(client.get("/livez").headers)
    assert policy["default-src"] == ["'none'"]
    assert policy["object-src"] == ["'none'"]
    assert policy["base-uri"] == ["'none'"]
    assert policy["frame-ancestors"] == ["'none'"]
    assert policy["script-src"][0] == "'self'"
    assert policy["script-src"][1].startswith("'nonce-")
    assert not any("unsafe" in value for values in policy.values() for value in values)


def test_each_answer_has_a_nonce_of_its_own(client: Client) -> None:
    nonces = {policy_of(client.get("/livez").headers)["script-src"][1] for _ in range(20)}
    assert len(nonces) == 20


def test_every_answer_says_nosniff_no_frames_no_cache_no_devices(client: Client) -> None:
    headers = client.get("/no-such-page").headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Cache-Control"] == "private, no-store"
    assert headers["Referrer-Policy"] == "same-origin"
    assert "camera=()" in headers["Permissions-Policy"]
    assert "geolocation=()" in headers["Permissions-Policy"]


def test_a_page_that_scans_may_use_the_camera_and_nothing_more() -> None:
    answer = middleware.SecurityHeaders(middleware.with_camera(lambda _: HttpResponse()))
    response = answer(RequestFactory().get("/scan"))
    assert "camera=(self)" in response.headers["Permissions-Policy"]
    assert "microphone=()" in response.headers["Permissions-Policy"]
    scripts = policy_of(response.headers)["script-src"]
    assert "'wasm-unsafe-eval'" in scripts
    assert "'unsafe-eval'" not in scripts


def test_the_nonce_in_the_page_is_the_one_in_the_policy() -> None:
    def view(request: HttpRequest) -> HttpResponse:
        return HttpResponse(middleware.nonce(request)["nonce"])

    response = middleware.SecurityHeaders(view)(RequestFactory().get("/"))
    assert policy_of(response.headers)["script-src"][1] == f"'nonce-{response.content.decode()}'"


def test_a_page_behind_a_secret_link_is_kept_out_of_referrers_and_indexes() -> None:
    response = middleware.unlisted(lambda _: HttpResponse())(RequestFactory().get("/s/x"))
    assert response.headers["Referrer-Policy"] == "no-referrer"
    assert response.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert response.headers["Cache-Control"] == "private, no-store"


def test_a_plain_request_id_is_echoed(client: Client) -> None:
    response = client.get("/livez", headers={"X-Request-Id": "lab-4711-00aa"})
    assert response.headers["X-Request-Id"] == "lab-4711-00aa"


@pytest.mark.parametrize("hostile", ["", "short", "a" * 65, "id with blanks", "id\r\nX-Evil: 1"])
def test_any_other_request_id_is_replaced(hostile: str, client: Client) -> None:
    response = client.get("/livez", headers={"X-Request-Id": hostile})
    assert response.headers["X-Request-Id"] != hostile
    assert middleware.SAFE_ID.fullmatch(response.headers["X-Request-Id"])


def test_each_request_leaves_one_line_with_status_and_time(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, logger="api.access"):
        client.get("/no-such-page")
    (record,) = [record for record in caplog.records if record.name == "api.access"]
    assert record.getMessage() == "GET /no-such-page"
    assert record.__dict__["status"] == 404
    assert record.__dict__["ms"] >= 0


def test_probes_do_not_fill_the_log(client: Client, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO, logger="api.access"):
        client.get("/livez")
    assert not [record for record in caplog.records if record.name == "api.access"]
