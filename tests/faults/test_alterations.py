"""Whatever is altered behind the triggers is found; 10,000 times by the command of the module."""

import pytest

from tests.faults import alterations

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


def test_300_random_alterations_are_all_found() -> None:
    alterations.make_world()
    done, missed = alterations.found_of(300)
    assert missed == []
    assert len(done) > 20
