"""The table of rights: what each role gets at each address, by GET and by POST.

To add a page: put its path below under the profile that fits, and its route's name into
``api/pages/rights.py`` if it is for staff. Numbers in braces are made in ``tests/rights/world.py``.
An address of the labs' interface gets its row in ``tests/api/v1/test_rights.py``, and is taken over
from there. A cell is a status, or the door that the role is sent to (``tests/rights/walk.py``).
Source of the demand: OWASP ASVS 5.0.0, V8.2.1, V8.2.2 and V8.4.1; OWASP API Security Top 10, 2023,
API1, API3 and API5. What each role gets is the house's own decision.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from tests.api.v1 import test_rights as api
from tests.rights.world import Role


@dataclass(frozen=True)
class Profile:
    """What each role gets: "GET/POST". Roles that are not named get ``others``."""

    others: str
    named: Mapping[Role, str]

    def cell(self, role: Role) -> str:
        """The cell of one role."""
        return self.named.get(role, self.others)


@dataclass(frozen=True)
class Row:
    """One address, and what it is for each role."""

    path: str
    profile: Profile
    route: str = ""


def bench(technician: str, owner: str = "") -> Profile:
    """Staff get this; everybody else is asked to sign in, whatever the method."""
    return Profile("login/login", {Role.TECHNICIAN: technician, Role.OWNER: owner or technician})


def back_office(owner: str) -> Profile:
    """Owners get this."""
    return Profile("admin-door/admin-door", {Role.OWNER: owner})


def lab(own: str, others: str) -> Profile:
    """The lab whose thing it is gets this; another lab that; everybody else is asked for a key."""
    return Profile("lab-door/lab-door", {Role.LAB_A: own, Role.LAB_B: others})


def everybody(cell: str) -> Profile:
    """All get the same."""
    return Profile(cell, {})


OPEN = everybody("200/405")
LINK = Profile("404/405", {Role.CUSTOMER: "200/405", Role.REVOKED: "410/405"})
TAG = Profile("200/405", {Role.TECHNICIAN: "302/405", Role.OWNER: "302/405"})
_PARTS = ("history", "delete", "change")
ORDER = "/bench/orders/{order}/"

PROFILES: tuple[tuple[Profile, tuple[str, ...]], ...] = (
    (TAG, ("/t", "/t/", "/t/{code}", "/T/{code}")),
    (
        OPEN,
        (
            *("/livez", "/.well-known/jwks.json", "/robots.txt", "/verify-worker.js"),
            *("/problems/", "/problems/not_found"),
        ),
    ),
    (everybody("503/405"), ("/readyz",)),  # no worker runs in the tests
    (everybody("200/422"), ("/verify", "/VERIFY", "/found/{code}", "/lab/sign-in/")),
    (everybody("200/200"), ("/bench/login/", "/u/{signature}/{value}")),
    (everybody("405/login"), ("/bench/logout/",)),
    (everybody("405/lab-door"), ("/lab/sign-out/",)),
    (
        LINK,
        (
            *("/s/{token}", "/s/{token}/photos/{photo}.jpg", "/s/{token}/calendar.ics"),
            "/s/{token}/cylinders/{cylinder}",
            *("/s/{token}/certificates/{record}", "/s/{token}/certificates/{record}.pdf"),
        ),
    ),
    (
        bench("200/422"),
        (
            *("/bench/", "/bench/me/", "/bench/find/", "/bench/due/", "/bench/due/months/"),
            *("/bench/wall/", "/bench/intake/", "/bench/tags/{code}/", "/bench/labels/"),
            *("/bench/figures/", "/bench/webhooks/", "/bench/messages/", "/bench/labels/{run}/"),
            *("/bench/customers/{customer}/", "/bench/held/", "/bench/records/{record}/"),
            *("/bench/lab-log/", "/bench/lab-files/", "/bench/lab-files/{waits}/"),
            *("/bench/runs/", "/bench/runs/in/", "/bench/runs/to/{lab}/"),
            *("/bench/runs/{consignment}/", "/bench/cylinders/{cylinder}/"),
            *("/bench/cylinders/{cylinder}/links/", "/bench/cylinders/{cylinder}/photos/"),
            *("/bench/cylinders/{cylinder}/receive/", "/bench/cylinders/{cylinder}/camera/"),
            *("/bench/scan/camera/", "/bench/runs/to/{lab}/camera/", "/bench/runs/in/camera/"),
            *(f"{ORDER}teardown/camera/", f"{ORDER}reassembly/camera/"),
            *(f"{ORDER}teardown/", f"{ORDER}pack/", f"{ORDER}stamp/", f"{ORDER}inspection/"),
            *(f"{ORDER}oxygen/", f"{ORDER}reassembly/", f"{ORDER}parts/{{part}}/service/"),
            *(f"{ORDER}fill/", f"{ORDER}handover/", f"{ORDER}stop/", f"{ORDER}notice/"),
        ),
    ),
    (
        bench("200/405"),
        (
            *("/bench/messages/{notice}/", "/bench/scan/", "/bench/tags/{code}/print.png"),
            *("/bench/files/{photo}/", "/bench/runs/{consignment}/list.pdf"),
            *("/bench/lab-log/{lab}/2026-11-20.csv", "/bench/cylinders/{cylinder}/tests.csv"),
        ),
    ),
    (bench("302/405"), (ORDER,)),
    (bench("405/200"), ("/bench/intake/reading/", f"{ORDER}fill/limits/")),
    # Nothing to print at this visit: no run that was sent, no fill, no condemnation.
    (
        bench("404/405"),
        ("/bench/labels/{run}/labels.pdf", f"{ORDER}fill/label.png", f"{ORDER}notice/tag.png"),
    ),
    (bench("403/403", owner="200/405"), ("/bench/customers/{customer}/everything.json",)),
    (bench("403/403", owner="200/422"), ("/bench/recall/",)),
    # Nothing is asked, so nothing stands on it.
    (
        bench("403/403", owner="404/405"),
        ("/bench/recall/list.csv", "/bench/recall/letters/{customer}/"),
    ),
    (lab("200/405", "200/405"), ("/lab/", "/lab/log/", "/lab/log/2026-11-20.csv")),
    (lab("200/405", "200/405"), ("/lab/files/model.csv",)),
    (lab("200/422", "200/422"), ("/lab/files/",)),
    (lab("200/200", "404/404"), ("/lab/files/{sheet}/",)),
    (lab("200/405", "404/405"), ("/lab/files/{sheet}/to-mend.csv",)),
    (lab("200/302", "200/302"), ("/lab/chambers/",)),
    (lab("200/422", "200/422"), ("/lab/checks/",)),
    (lab("200/405", "404/405"), ("/lab/records/{reference}/record.csv",)),
    (lab("200/422", "404/404"), ("/lab/cylinders/{line}/", "/lab/records/{reference}/")),
    (lab("404/405", "404/405"), ("/lab/records/{reference}/papers/1/",)),  # it has no papers
    (
        back_office("200/200"),
        (
            *("/admin/", "/admin/cylinders/", "/admin/password_change/"),
            *("/admin/auth/group/", "/admin/auth/group/add/"),
            *("/admin/auth/user/", "/admin/auth/user/add/", "/admin/auth/user/1/password/"),
            *(f"/admin/auth/user/1/{end}/" for end in ("history", "delete", "change")),
            *(
                f"/admin/cylinders/{kind}/{end}"
                for kind, number in (("customer", "{customer}"), ("lab", "{lab}"))
                for end in (
                    "",
                    "add/",
                    *(f"{number}/{x}/" for x in ("history", "delete", "change")),
                )
            ),
            *(f"/admin/cylinders/shop/{end}" for end in ("", "add/")),
            *(f"/admin/cylinders/shop/{{shop}}/{end}/" for end in ("history", "change")),
        ),
    ),
    (back_office("200/302"), ("/admin/cylinders/shop/{shop}/delete/",)),
    (back_office("200/405"), ("/admin/password_change/done/", "/admin/jsi18n/")),
    (back_office("403/405"), ("/admin/autocomplete/",)),
    (back_office("404/404"), ("/admin/r/1/1/", "/admin/elsewhere")),
    (
        back_office("302/302"),
        (
            *("/admin/cylinders/customer/{customer}/", "/admin/cylinders/lab/{lab}/"),
            *("/admin/cylinders/shop/{shop}/", "/admin/auth/user/1/", "/admin/auth/group/1/"),
            *(f"/admin/auth/group/1/{end}/" for end in ("history", "delete", "change")),
        ),
    ),
    (Profile("login/login", {Role.TECHNICIAN: "403/403"}), ("/admin/login/",)),
    (Profile("302/302", {Role.OWNER: "405/200"}), ("/admin/logout/",)),
    (everybody("404/404"), ("/api/v1/elsewhere",)),
)
#: Lab roles at these addresses are asserted, with their bodies, in ``tests/api/v1/test_rights.py``.
ELSEWHERE = "elsewhere"
KEYED = Profile("401/401", {Role.LAB_A: ELSEWHERE, Role.LAB_B: ELSEWHERE})


def _of_the_api() -> list[Row]:
    """Each address of the labs' interface once; its numbers do not matter to whoever has no key."""
    rows = {}
    for row in api.ROWS:
        path = row.address.format_map(defaultdict(lambda: 1))
        profile = KEYED if row.scope else OPEN
        rows[row.route] = Row(path, profile, f"api/v1/{row.route}")
    return list(rows.values())


ROWS = (
    *(Row(path, profile) for profile, paths in PROFILES for path in paths),
    *_of_the_api(),
)
