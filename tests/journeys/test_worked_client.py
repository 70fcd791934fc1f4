"""The worked client of the documentation takes a newcomer from a key to an accepted record."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from pytest_django.live_server_helper import LiveServer

from cylinders.models import TestRecord
from tests import makers
from tests.api.v1.lab import LabClient, make_lab_client, order_at

HOUSE = Path(__file__).parents[2]
CLIENT = HOUSE / "fixtures" / "lab_client"
RECORD = HOUSE / "fixtures" / "lab_posts" / "passed.json"

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def lab() -> LabClient:
    """A lab with the cylinder of the example in its hands, on the machine's own day."""
    makers.technician_one()
    client = make_lab_client(at=timezone.now())
    order_at(client.lab, "QX104417")
    return client


def run(
    live_server: LiveServer, lab: LabClient, record: Path
) -> "subprocess.CompletedProcess[str]":
    words = [sys.executable, str(CLIENT / "send_record.py"), live_server.url, lab.key, str(record)]
    return subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)


def test_the_python_client_sends_a_record_and_may_send_it_again(
    live_server: LiveServer, lab: LabClient
) -> None:
    first, again = (run(live_server, lab, RECORD) for _ in range(2))
    assert (first.returncode, first.stdout) == (0, "NG-2026-0417: passed, attached\n"), first.stderr
    assert again.stdout == first.stdout
    assert TestRecord.objects.count() == 1


def test_the_python_client_tells_each_place_that_is_wrong(
    live_server: LiveServer, lab: LabClient, tmp_path: Path
) -> None:
    wrong: dict[str, Any] = json.loads(RECORD.read_text(encoding="utf-8")) | {"use": "diving"}
    del wrong["hold_seconds"]
    path = tmp_path / "wrong.json"
    path.write_text(json.dumps(wrong), encoding="utf-8")
    told = run(live_server, lab, path)
    assert (told.returncode, told.stdout) == (1, "")
    assert told.stderr.startswith("400: 2 places need mending")
    assert "/use" in told.stderr
    assert "/hold_seconds" in told.stderr


@pytest.mark.skipif(shutil.which("curl") is None, reason="this machine has no curl")
def test_the_steps_by_curl_end_with_an_accepted_record(
    live_server: LiveServer, lab: LabClient
) -> None:
    words = {"SHOP": live_server.url, "KEY": lab.key, "RECORD": str(RECORD)}
    told = subprocess.run(
        ["sh", str(CLIENT / "by_hand.sh")],
        capture_output=True,
        text=True,
        timeout=60,
        env={"PATH": os.environ["PATH"]} | words,
        check=False,
    )
    assert told.returncode == 0, told.stdout + told.stderr
    assert '"verdict": "passed"' in told.stdout
    assert '"type": "record.accepted"' in told.stdout
    assert TestRecord.objects.get().state == "attached"
