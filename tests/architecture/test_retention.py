"""No record of a test, no report and no void is ever deleted: not by code, clock or cascade.

49 CFR 180.215(b), 2019-10-01 edition: kept until the requalification period ends or the cylinder is
requalified again. The service keeps them for good.
"""

import ast
import datetime as dt
from pathlib import Path

import pytest
import time_machine
from celery import current_app
from django.conf import settings
from django.contrib import admin
from django.core.cache import cache
from django.db.models import PROTECT, Model

from cylinders.models import LabReport, RecallLetter, RecordVoid, ReportVoid, TestRecord
from tests import makers
from tests.api.v1.lab import body, make_lab_client, order_at

HOUSE = Path(__file__).parents[2]
KEPT: tuple[type[Model], ...] = (TestRecord, LabReport, RecordVoid, ReportVoid, RecallLetter)


@pytest.mark.parametrize("model", KEPT, ids=lambda model: model.__name__)
def test_no_deletion_of_anything_else_takes_one_along(model: type[Model]) -> None:
    parents = [field for field in model._meta.get_fields() if field.many_to_one]
    assert parents
    for field in parents:
        assert field.remote_field.on_delete is PROTECT, field  # type: ignore[union-attr]
    assert model not in admin.site._registry


@pytest.mark.parametrize("room", ["cylinders", "labels", "api"])
def test_no_line_of_code_deletes_one(room: str) -> None:
    names = {model.__name__ for model in KEPT} | {"records", "lab_reports", "reports", "voids"}
    found = []
    for path in (HOUSE / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and node.attr in {"delete", "_raw_delete"}:
                used = {n.id for n in ast.walk(node.value) if isinstance(n, ast.Name)}
                used |= {n.attr for n in ast.walk(node.value) if isinstance(n, ast.Attribute)}
                if used & names:
                    found.append(f"{path.relative_to(HOUSE)}:{node.lineno}")
    assert found == []


@pytest.mark.django_db
def test_twenty_years_of_nightly_work_leave_every_record(monkeypatch: pytest.MonkeyPatch) -> None:
    makers.technician_one()
    cache.clear()
    with time_machine.travel(makers.NOON, tick=False):
        lab = make_lab_client()
        order_at(lab.lab)
        lab.post(makers.check_body(), path="/api/v1/calibrations")
        lab.post(body(calibration=None))
        lab.post({"reason": "a slip"}, path="/api/v1/test-records/NG-2026-0417/void")
    before = [model._default_manager.count() for model in KEPT]
    current_app.loader.import_default_modules()  # as a worker does
    with time_machine.travel(makers.NOON + dt.timedelta(days=20 * 366), tick=False):
        for entry in settings.CELERY_BEAT_SCHEDULE.values():
            current_app.tasks[str(entry["task"])].apply(throw=True)
    assert [model._default_manager.count() for model in KEPT] == before
    assert before[:3] == [1, 1, 1]
