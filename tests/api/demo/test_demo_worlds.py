"""The demonstration comes again without error, and leaves a real shop's database alone."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from cylinders.models import Cylinder, Shop

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_second_run_is_no_error_and_takes_a_fresh_cylinder(settings: Any, tmp_path: Path) -> None:
    settings.VAR_DIR = tmp_path
    call_command("demo", "--once", stdout=io.StringIO())
    before = Cylinder.objects.count()
    call_command("demo", "--once", stdout=io.StringIO())
    assert Cylinder.objects.count() == before + 1


def test_a_database_of_a_real_shop_is_left_alone(settings: Any, tmp_path: Path) -> None:
    settings.VAR_DIR = tmp_path
    Shop.objects.create(name="Somebody's real shop")
    with pytest.raises(CommandError, match="Somebody's real shop"):
        call_command("demo", "--once")
    assert not Cylinder.objects.exists()


def test_it_does_not_play_in_production(settings: Any) -> None:
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="production"):
        call_command("demo", "--once")


def test_a_run_that_is_stopped_leaves_no_half_of_a_world(
    settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.VAR_DIR = tmp_path

    def stopped(*_args: Any, **_named: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("api.demo.bench.carry", stopped)
        with pytest.raises(KeyboardInterrupt):
            call_command("demo", "--once", stdout=io.StringIO())
    assert not Shop.objects.exists()
    call_command("demo", "--once", stdout=io.StringIO())
