from urllib.parse import urlencode

import pytest

from cylinders.models import Consent, Customer, Cylinder, Shop, WorkOrder
from cylinders.operations import privacy
from labels.operations.minting import mint
from tests import makers
from tests.api.pages.bench.desk import Desk

STAMP = "DOT-3AL3000\nKX40417\nM9999\n06-08\n11 Z9/99 21"


def _read(desk: Desk, stamp: str = STAMP, **more: str) -> Desk:
    return desk.open(f"/bench/intake/?{urlencode({'stamp': stamp} | more)}")


def test_what_was_understood_what_was_not_and_what_is_due_are_shown(desk: Desk) -> None:
    _read(desk, f"{STAMP}\nQQ??")
    assert "authority DOT, spec 3AL, service pressure 3000 psi" in desk.text
    assert "Not understood: QQ??" in desk.text
    assert "Requalification: due this month, good through 2026-11-30" in desk.text
    assert "49 CFR 180.209(a)" in desk.text
    assert "May it be filled as it is? No" in desk.text


def test_reading_stores_nothing(desk: Desk) -> None:
    _read(desk)
    answer = desk.client.post("/bench/intake/reading/", {"stamp": STAMP})
    assert "spec 3AL" in answer.content.decode()
    assert not Cylinder.objects.exists()


def test_what_follows_from_the_stamp_is_shown_while_it_is_typed(desk: Desk) -> None:
    answer = desk.client.post("/bench/intake/reading/", {"stamp": STAMP}).content.decode()
    assert "Requalification: due this month, good through 2026-11-30" in answer
    assert "May it be filled as it is? No" in answer
    half = desk.client.post("/bench/intake/reading/", {"stamp": "???"}).content.decode()
    assert "What follows" not in half


def test_a_question_is_answered_by_tapping_a_choice(desk: Desk) -> None:
    makers.make_customer()
    _read(desk, f"{STAMP}\n3/4")
    assert "Which thread of 3/4?" in desk.text
    _read(desk, f"{STAMP}\n3/4", **{"answer-0": "3/4-14 NPSM"})
    desk.press("receive", owner="Odo Quill")
    assert Cylinder.objects.get().neck_thread == "3/4-14 NPSM"
    assert Cylinder.objects.get().stamp_text == f"{STAMP}\n3/4"


def test_a_choice_that_was_not_offered_changes_nothing(desk: Desk) -> None:
    makers.make_customer()
    _read(desk, f"{STAMP}\n3/4", **{"answer-0": "M99x9"})
    desk.press("receive", owner="Odo Quill")
    assert Cylinder.objects.get().neck_thread == ""


def test_what_is_due_is_suggested_as_services(desk: Desk) -> None:
    makers.make_customer()
    _read(desk).press("receive", owner="Odo Quill", last_visual="2026-10")
    assert WorkOrder.objects.get().services == [
        "requalification",
        "visual",
        "valve_service",
        "fill",
    ]


def test_a_likely_duplicate_is_shown_and_must_be_looked_at(desk: Desk) -> None:
    order = makers.receive()
    _read(desk)
    assert f"It is this one: {order.cylinder}" in desk.text
    desk.press("receive", owner="Odo Quill", condition="green paint")
    assert desk.status == 422
    assert "Compare it with the ones shown" in desk.text
    assert "green paint" in desk.response.content.decode(), "what was typed is still there"
    assert Cylinder.objects.count() == 1
    desk.press("receive", owner="Odo Quill", not_these="on")
    assert Cylinder.objects.count() == 2, "another cylinder, never merged"


def test_a_new_customer_is_added_with_the_cylinder(desk: Desk) -> None:
    new = {"owner": "Mara Finch", "new_owner": "on", "email": "mara@example.org", "consent": "on"}
    _read(desk).press("receive", **new)
    owner = Customer.objects.get()
    assert (owner.name, owner.email, owner.email_consent) == (
        "Mara Finch",
        "mara@example.org",
        True,
    )
    assert Cylinder.objects.get().owner == owner


def test_an_unknown_owner_is_never_made_up(desk: Desk) -> None:
    _read(desk).press("receive", owner="Nobody Known")
    assert desk.status == 422
    assert "Nobody of that name is known" in desk.text
    assert not Customer.objects.exists()
    assert not Cylinder.objects.exists()


def test_two_owners_of_one_name_are_told_apart_by_number(desk: Desk) -> None:
    makers.make_customer("Odo Quill")
    second = makers.make_customer("Odo Quill")
    _read(desk).press("receive", owner="Odo Quill")
    assert f"Odo Quill ({second.pk})" in desk.text
    desk.press("receive", owner=f"Odo Quill ({second.pk})")
    assert Cylinder.objects.get().owner == second


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("email", "mara at example", "valid email"),
        ("requalified", "11/2021", "YYYY-MM"),
        ("requalified", "2021-13", "YYYY-MM"),
        ("service_pressure", "3,000", "digits only"),
        ("service_pressure", "3e3", "digits only"),
        ("use_gas", "helium", "Select a valid choice"),
        ("services", "polish", "Select a valid choice"),
    ],
)
@pytest.mark.sampled(of=3)
def test_a_bad_value_is_named_and_nothing_is_stored(
    desk: Desk, field: str, value: str, says: str
) -> None:
    makers.make_customer()
    _read(desk).press("receive", owner="Odo Quill", **{field: value})
    assert desk.status == 422
    assert says in desk.text
    assert not Cylinder.objects.exists()


def test_a_cylinder_with_condemning_marks_is_registered_for_the_exit(desk: Desk) -> None:
    makers.make_customer()
    _read(desk, f"{STAMP}\nCONDEMNED")
    assert "never filled" in desk.text
    desk.press("receive", owner="Odo Quill")
    assert Cylinder.objects.get().life == "condemned"
    assert WorkOrder.objects.get().stage == "condemned"


@pytest.mark.parametrize("stamp", ["<script>alert(1)</script>", "\x00", "x" * 5000, "\u202e3AL"])
@pytest.mark.sampled(of=3)
def test_any_text_is_answered_and_escaped(desk: Desk, stamp: str) -> None:
    _read(desk, stamp)
    assert desk.status == 200
    assert "<script>alert" not in desk.response.content.decode()


def test_a_blank_tag_that_was_scanned_first_waits_for_the_new_cylinder(desk: Desk) -> None:
    makers.make_customer()
    [tag] = mint(count=1, host="CYL.EXAMPLE", at=makers.NOON)
    _read(desk, tag=tag.code).press("receive", owner="Odo Quill")
    desk.press("bind")
    tag.refresh_from_db()
    assert (tag.state, tag.cylinder) == ("live", Cylinder.objects.get())


def test_a_code_that_was_used_is_not_bound_again(desk: Desk) -> None:
    makers.make_customer()
    [tag] = mint(count=1, host="CYL.EXAMPLE", at=makers.NOON)
    for serial in ("KX40417", "KX40418"):
        _read(desk, STAMP.replace("KX40417", serial)).press("receive", owner="Odo Quill")
        desk.press("bind", code=tag.code)
    first, second = Cylinder.objects.order_by("pk")
    assert "in use already" in desk.text
    assert first.tags.get() == tag
    assert not second.tags.exists()


def test_a_known_cylinder_is_received_again_with_what_is_due(desk: Desk) -> None:
    order = makers.receive()
    page = f"/bench/cylinders/{order.cylinder_id}/receive/"
    assert "It is in the house already" in desk.open(page).text
    WorkOrder.objects.update(closed_at=makers.NOON, stage="collected")
    desk.open(page).press("receive", pressure_on_arrival="500 psi")
    again = WorkOrder.objects.latest("pk")
    assert (again.stage, again.pressure_on_arrival) == ("received", "500 psi")
    assert "requalification" in again.services


def test_the_country_of_the_shop_decides_how_a_stamp_is_read(desk: Desk) -> None:
    Shop.objects.create(name="Bench", country="DE")
    assert "authority DOT" in _read(desk).text


def test_the_line_ends_of_a_browser_are_stored_as_typed(desk: Desk) -> None:
    makers.make_customer()
    typed = STAMP.replace("\n", "\r\n")
    _read(desk, typed).press("receive", owner="Odo Quill", stamp=typed)
    assert Cylinder.objects.get().stamp_text == STAMP


def test_what_a_new_customer_agreed_to_is_kept_with_its_words(desk: Desk) -> None:
    new = {"owner": "Mara Finch", "new_owner": "on", "email": "mara@example.org", "consent": "on"}
    _read(desk).press("receive", **new)
    consent = Consent.objects.get()
    assert (consent.customer, consent.given, consent.by) == (
        Customer.objects.get(),
        True,
        f"staff:{desk.user.pk}",
    )


def test_an_erased_person_is_no_owner_any_more(desk: Desk) -> None:
    odo = makers.make_customer("Odo Quill")
    by = makers.staff(desk.user)
    privacy.erase(customer_id=odo.pk, reason="asked by letter", at=makers.NOON, by=by)
    assert "Erased person" not in _read(desk).text
    assert desk.press("receive", owner=f"Erased person {odo.pk} ({odo.pk})").status == 422


def test_a_stamp_that_is_too_long_is_refused_whole_and_never_cut(desk: Desk) -> None:
    for extra, refused in (("", False), ("\nCONDEMNED", True)):
        text = "DOT-3AL3000\n".ljust(600, "-") + extra
        told = desk.client.post("/bench/intake/reading/", {"stamp": text}).content.decode()
        assert ("Nothing was read: the text has more than 600 signs" in told) is refused
        assert ("3AL" in told) is not refused
    sent = {"do": "receive", "once": "a", "stamp": text, "specification": "3AL"}
    answer = desk.client.post("/bench/intake/", sent)
    assert answer.status_code == 422
    assert "CONDEMNED" in answer.content.decode(), "what was typed is kept to be set right"
    assert not Cylinder.objects.exists()
