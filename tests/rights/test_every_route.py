"""Every route times every role, by GET and POST: what each gets, and what each answer carries."""

from itertools import product
from typing import Any

import pytest
from django.urls import resolve

from api.pages import rights
from tests import makers
from tests.rights import table, walk, world
from tests.rights.walk import Answer
from tests.rights.world import Role

pytestmark = pytest.mark.django_db

HOW = """
These routes of the URL map have no row in the table of rights: {missing}
A page: put its path under a profile in tests/rights/table.py; if it is for staff, put the name of
its route into ROUTES of api/pages/rights.py (and forms for owners alone into FORMS there).
An address of the labs' interface: add its Row to tests/api/v1/test_rights.py.
"""
#: Pages that may use the camera, and answers that somebody else than their reader may keep.
CAMERA = tuple(row.path for row in table.ROWS if row.path.endswith("/camera/"))
FOR_PROGRAMS = ("/.well-known/jwks.json",)  # public keys, read by pages of other houses
MAY_BE_KEPT = (
    *("t", "t/", "t/<str:code>", "T/<str:code>"),  # the poor page behind a tag
    *(".well-known/jwks.json", "verify", "VERIFY"),  # an empty form, and public keys
    "verify-worker.js",  # a script that is the same for everybody
)
STRANGERS = (Role.ANONYMOUS, Role.REVOKED, Role.FINDER)


def route_of(row: table.Row) -> str:
    return row.route or resolve(row.path.format_map(_Any())).route


class _Any(dict[str, str]):
    def __missing__(self, _key: str) -> str:
        return "1"


def test_every_route_of_the_url_map_has_a_row_and_every_row_a_route() -> None:
    routes, rows = set(walk.routes()), {route_of(row) for row in table.ROWS}
    assert routes - rows == set(), HOW.format(missing=sorted(routes - rows))
    assert rows - routes == set()


def test_every_page_of_the_bench_stands_in_the_table_that_is_asked_at_the_door() -> None:
    names = {resolve(row.path.format_map(_Any())).url_name for row in table.ROWS if _at_bench(row)}
    missing = names - rights.ROUTES.keys() - {"login", "logout"}
    assert missing == set(), HOW.format(missing=sorted(map(str, missing)))
    assert rights.ROUTES.keys() | rights.FORMS.keys() <= names


def _at_bench(row: table.Row) -> bool:
    return row.path.startswith("/bench/")


@pytest.mark.parametrize("role", Role)
def test_each_cell_is_what_the_table_says(role: Role) -> None:
    cells = [answer for answer in walk.answers() if answer.role is role]
    wrong = [
        f"{answer.method} {answer.path}: {answer.got}, the table says {said}"
        for answer in cells
        if (said := _cell(answer)) not in (table.ELSEWHERE, answer.got)
    ]
    assert wrong == []
    assert len(cells) == 2 * len(table.ROWS)


def _cell(answer: Answer) -> str:
    cell = answer.row.profile.cell(answer.role)
    return cell if cell == table.ELSEWHERE else cell.split("/")[walk.METHODS.index(answer.method)]


def test_no_address_breaks_whoever_asks() -> None:
    broken = [a for a in walk.answers() if a.status >= 500 and a.path != "/readyz"]
    assert [(a.role, a.method, a.path, a.status) for a in broken] == []


@pytest.mark.parametrize("route", rights.FORMS)
def test_a_form_for_owners_is_refused_to_a_technician_and_not_to_an_owner(route: str) -> None:
    house = world.build()
    path = next(
        house.address(row.path, Role.OWNER)
        for row in table.ROWS
        if resolve(row.path.format_map(_Any())).url_name == route
    )
    for form, roles in rights.FORMS[route].items():
        for role in (Role.TECHNICIAN, Role.OWNER):
            answer = house.clients[role].post(path, {"do": form})
            assert (answer.status_code == 403) is (role.value not in roles), (form, role)


def test_a_route_that_nobody_entered_is_for_owners_alone() -> None:
    assert not rights.may_open(makers.make_technician(), route="forgotten")
    assert rights.may_open(makers.make_owner(), route="forgotten")


@pytest.mark.parametrize("role", STRANGERS)
def test_no_stranger_gets_a_name_an_address_or_a_word_about_somebody(role: Role) -> None:
    told = [
        (answer.method, answer.path, word)
        for answer in walk.answers()
        if answer.role is role
        for word in (*world.CANARIES, *world.SERIALS)
        if word.encode() in answer.body or word in str(answer.headers)
    ]
    assert told == []


@pytest.mark.parametrize("role", [Role.CUSTOMER, Role.LAB_A, Role.LAB_B])
def test_neither_labs_nor_the_owner_s_page_get_how_somebody_is_reached(role: Role) -> None:
    secret = (*world.CANARIES[:3], "ZuluFindercanary", "555-0199", "zulustaffcanary")
    told = [
        (answer.path, word)
        for answer in walk.answers()
        if answer.role is role
        for word in secret
        if word.encode() in answer.body
    ]
    assert told == []


def test_the_words_that_must_not_get_out_do_stand_where_staff_see_them() -> None:
    seen = b"".join(a.body for a in walk.answers() if a.role is Role.OWNER and a.method == "GET")
    assert [word for word in world.CANARIES if word.encode() not in seen] == []


# Headers and cookies. Source: OWASP ASVS 5.0.0, V3.3.2, V3.3.4, V3.4.3 to V3.4.6, V14.3.2.


def _faults(answer: Answer) -> list[str]:
    headers = answer.headers
    policy = headers.get("Content-Security-Policy", "")
    camera = answer.row.path in CAMERA and answer.status in (200, 422)
    file = "sandbox" in policy  # bytes that somebody sent: they may do nothing at all
    found = {
        "policy": "default-src 'none'" in policy and (file or "'nonce-" in policy),
        "policy base": file or ("base-uri 'none'" in policy and "object-src 'none'" in policy),
        "policy forms": file
        or ("form-action 'self'" in policy and "frame-ancestors 'none'" in policy),
        "policy unsafe": "unsafe-inline" not in policy and "'unsafe-eval'" not in policy,
        "wasm": ("'wasm-unsafe-eval'" in policy) is camera,
        "camera": ("camera=(self)" in headers.get("Permissions-Policy", "")) is camera,
        "devices": "microphone=(), geolocation=()" in headers.get("Permissions-Policy", ""),
        "nosniff": headers.get("X-Content-Type-Options") == "nosniff",
        "frames": headers.get("X-Frame-Options") == "DENY",
        "referrer": headers.get("Referrer-Policy") in ("same-origin", "no-referrer"),
        "opener": headers.get("Cross-Origin-Opener-Policy") == "same-origin",
        "request id": bool(headers.get("X-Request-Id")),
        "server": not headers.get("Server") and not headers.get("X-Powered-By"),
        "cors": "Access-Control-Allow-Origin" not in headers or answer.path in FOR_PROGRAMS,
    }
    return [name for name, good in found.items() if not good]


def test_every_answer_carries_the_headers_that_close_it() -> None:
    wrong = [(a.role, a.method, a.path, _faults(a)) for a in walk.answers() if _faults(a)]
    assert wrong == []


def test_what_is_personal_is_kept_by_nobody() -> None:
    kept = {
        route_of(answer.row)
        for answer in walk.answers()
        if "no-store" not in answer.headers.get("Cache-Control", "")
    }
    assert kept == set(MAY_BE_KEPT)


def test_what_lies_behind_a_secret_address_is_kept_out_of_referrers_and_indexes() -> None:
    wrong = [
        answer.path
        for answer in walk.answers()
        if answer.path.startswith(("/s/", "/u/", "/found/")) and answer.status != 405
        if answer.headers.get("Referrer-Policy") != "no-referrer"
        or answer.headers.get("X-Robots-Tag") != "noindex, nofollow"
    ]
    assert wrong == []


def test_every_cookie_is_closed_to_scripts_and_to_other_sites() -> None:
    cookies = [(a.path, name, c) for a in walk.answers() for name, c in a.cookies.items()]
    wrong = [
        (path, name)
        for path, name, cookie in cookies
        if not _cleared(cookie)
        and not (
            cookie["httponly"]
            and cookie["samesite"] in ("Lax", "Strict")
            and cookie["path"] == "/"
            and not cookie["domain"]
        )
    ]
    assert wrong == []
    assert {name for _path, name, _cookie in cookies} <= {"session", "csrf", "language", "messages"}
    assert cookies


def _cleared(cookie: Any) -> bool:
    return bool(cookie["max-age"] == 0)


def test_other_methods_do_nothing_anywhere() -> None:
    house = world.build()
    owner = house.clients[Role.OWNER]
    for row, method in product(table.ROWS, ("TRACE", "PUT", "DELETE", "PATCH", "OPTIONS")):
        if row.path.startswith(("/api/", "/admin/")):
            continue  # the labs' methods stand in their own table; the back office is Django's
        answer = owner.generic(method, house.address(row.path, Role.OWNER))
        assert answer.status_code in (200, 302, 404, 405), (method, row.path, answer.status_code)
        if answer.status_code == 200:
            assert method == "OPTIONS", row.path
            assert "Allow" in answer.headers
