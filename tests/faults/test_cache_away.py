"""Redis is stopped: scans and labs' records come through quickly, doors stay shut to guesses.

Source of the demand: OWASP ASVS 5.0.0, V16.5.2 (no failure of a resource takes the rest along) and
V16.5.3 (fail closed); the figure of half a second is the house's own.
"""

from collections.abc import Iterator

import pytest
from django.core.cache import cache, caches
from django.core.cache.backends.redis import RedisCache
from django.test import Client
from pytest_django import Settings

from api import shared_cache
from api.shared_cache import ForgivingCache
from tests import makers, servers
from tests.api.pages.status import cast
from tests.api.v1.lab import LabClient, make_lab_client, order_at

pytestmark = pytest.mark.django_db
WITHIN = 0.5  # seconds in which a scan is to be answered


@pytest.fixture
def away(settings: Settings) -> Iterator[servers.Server]:
    """A cache whose server the test may stop."""
    try:
        server = servers.valkey()
    except servers.NoServer as missing:
        if servers.required():
            raise
        pytest.skip(str(missing))
    settings.CACHES = settings.CACHES | {
        "default": {"BACKEND": "api.shared_cache.ForgivingCache", "LOCATION": server.url}
    }
    yield server
    server.stop()


def test_it_is_a_cache_while_its_server_is_there(away: servers.Server) -> None:
    assert isinstance(caches["default"], ForgivingCache)
    assert cache.add("a", 1)
    assert not cache.add("a", 1)
    assert cache.incr("a") == 2
    assert cache.get("a") == 2
    assert cache.set_many({"b": 3}) == []
    assert cache.get_many(["a", "b"]) == {"a": 2, "b": 3}
    assert cache.touch("b")
    assert cache.has_key("b")
    assert cache.delete("b")
    assert not caches["default"].is_away
    cache.clear()
    assert cache.get("a", "gone") == "gone"


def test_it_answers_as_an_empty_one_when_its_server_is_gone(away: servers.Server) -> None:
    away.stop()
    assert cache.add("a", 1)
    assert cache.get("a", 7) == 7
    cache.set("a", 1)
    assert not cache.has_key("a")
    assert not cache.touch("a")
    assert not cache.delete("a")
    assert cache.get_many(["a"]) == {}
    assert cache.set_many({"a": 1}) == []
    with pytest.raises(ValueError, match="not found"):
        cache.incr("a")
    assert caches["default"].is_away  # type: ignore[attr-defined] # ours has it
    cache.clear()


def test_scans_pages_links_and_labs_come_through(away: servers.Server) -> None:
    cast.open_shop()
    order = cast.put_together()
    tag, link = cast.tag_of(order), cast.link_to(order)
    lab = make_lab_client("Z998")
    order_at(lab.lab, "QQ4")
    staff = Client()
    staff.force_login(makers.make_technician("sam"))
    away.stop()
    asked = [
        (Client(), f"/t/{tag.code}", 200),
        (Client(), "/t/7K2M9QX4WBTCK", 404),
        (Client(), f"/s/{link.token}", 200),
        (Client(), f"/s/{'a' * 32}", 404),
        (staff, f"/bench/scan/?code={tag.code}", 302),
        (staff, f"/bench/cylinders/{order.cylinder_id}/", 200),
        (staff, "/bench/", 200),
        (Client(), "/livez", 200),
    ]
    for client, path, status in asked * 3:
        assert client.get(path).status_code == status, path
    assert lab.get("/api/v1/cylinders").status == 200
    assert _ready() == "the cache cannot be asked, so nothing is known of the worker"


def test_a_server_that_is_away_is_asked_once_and_then_left_alone_for_a_while(
    away: servers.Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    away.stop()
    assert cache.get("a") is None
    asked: list[str] = []
    monkeypatch.setattr(RedisCache, "get", lambda *_args: asked.append("again"))
    monkeypatch.setattr(RedisCache, "add", lambda *_args, **_more: asked.append("again"))
    for _ in range(50):
        cache.get("a")
        cache.add("a", 1)
    assert asked == []
    assert shared_cache.SECONDS < WITHIN / 2, "connecting and asking, once for a page"


def _ready() -> object:
    answer = Client().get("/readyz")
    assert answer.status_code == 503
    return answer.json()["problems"]["worker"]


def test_doors_stay_shut_to_guesses(away: servers.Server) -> None:
    makers.make_technician()
    lab = make_lab_client()
    away.stop()
    stranger = Client()
    guess = {"username": "tessa", "password": "guess"}
    assert [stranger.post("/bench/login/", guess).status_code for _ in range(6)] == [200] * 5 + [
        429
    ]
    assert _lab_guesses(stranger, lab) == [422] * 5 + [429]
    right = {"username": "tessa", "password": "wet-gloves-7"}
    assert stranger.post("/bench/login/", right).status_code == 429


def _lab_guesses(stranger: Client, lab: LabClient) -> list[int]:
    key = f"{lab.key[:9]}{'A' * 43}"
    return [stranger.post("/lab/sign-in/", {"key": key}).status_code for _ in range(6)]
