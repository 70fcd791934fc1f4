"""Whatever is altered behind the triggers is found; 10,000 times by the command of the module."""

import pytest

from tests.faults import alterations

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


@pytest.mark.parametrize("count", [40, pytest.param(10_000, marks=pytest.mark.long)])
def test_random_alterations_are_all_found(count: int) -> None:
    alterations.make_world()
    done, missed = alterations.found_of(count)
    assert missed == []
    assert len(done) > (20 if count > 1_000 else 10), "kinds of alteration"
