"""What cannot be steered is refused, by its name."""

import pytest

from cylinders.operations.reminders import steering
from cylinders.rules.refusal import Refused
from tests import makers
from tests.cylinders.operations.reminders.cast import open_shop

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


def refused(code: str, **words: object) -> None:
    with pytest.raises(Refused) as refusal:
        steering.set_days(**words)  # type: ignore[arg-type] # wrong words are the case
    assert refusal.value.code == code


def test_days_are_set_of_a_known_duty_of_a_shop_and_never_none() -> None:
    refused("no_shop", duty="requalification", days_before=(30,))
    shop = open_shop()
    refused("unknown_duty", duty="haircut", days_before=(30,))
    refused("no_days", duty="requalification", days_before=())
    refused("bad_days", duty="requalification", days_before=(30, 30_000))
    shop.refresh_from_db()
    assert shop.notice_days == {}


def test_a_message_that_is_not_there_is_neither_stopped_nor_tried_again() -> None:
    with pytest.raises(Refused, match="no such message"):
        steering.stop(notice_id=7, at=makers.NOON)
    with pytest.raises(Refused, match="no such message"):
        steering.try_again(notice_id=7)
