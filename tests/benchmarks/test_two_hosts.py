"""Two hosts, each with web processes and a worker, on one PostgreSQL and one Valkey.

Here they are two services on ports of their own, with folders of their own, that share what two
hosts would share: database, queue and the key that signs sessions.
"""

import json
import subprocess
import sys

import pytest

HOSTS = """
import json, os, secrets, tempfile, time
from pathlib import Path
from tests.benchmarks import ground
os.environ["SECRET_KEY"] = secrets.token_urlsafe(60)
server = ground.settle()
from django.utils import timezone
from cylinders.models import WorkOrder
from tests.benchmarks import serving, world
valkey = serving.valkey()
told = {}
try:
    with ground.database():
        filled = world.fill(world.live_once(), 40)
        # The hosts go by their own clock, and owners hear of an arrival for two days.
        WorkOrder.objects.update(opened_at=timezone.now())
        people = serving.cast(filled.codes)
        one, two = (Path(tempfile.mkdtemp(prefix="host-")) for _ in range(2))
        known = {"database": ground.address(), "redis": valkey.url}
        with serving.served(**known, log=one / "log", folder=one) as here, serving.served(
            **known, log=two / "log", folder=two
        ) as there:
            told["pages"] = [
                serving.ask(host.port, "GET", path, headers=people.staff)[0]
                for host in (here, there)
                for path in ("/bench/", "/bench/cylinders/7/")
            ]
            page = f"/t/{filled.codes[0]}"
            shown = lambda host: b"IN DATE" in serving.ask(host.port, "GET", page)[1]
            told["before"] = [shown(here), shown(there)]
            body, headers = serving.record(1, serial="KX00000000", code=filled.codes[0])
            posts = [
                serving.ask(
                    host.port,
                    "POST",
                    "/api/v1/test-records",
                    headers={**headers, **people.lab},
                    body=body,
                )[0]
                for host in (here, there)
            ]
            told["one record, posted at both"] = posts
            from cylinders.models import Cylinder, Notice, TestRecord
            told["records"] = TestRecord.objects.count()
            Cylinder.objects.filter(pk=1).update(life="condemned")
            told["after"] = [shown(here), shown(there)]
            until = time.monotonic() + 120
            while time.monotonic() < until and not (
                told.get("ready") == [200, 200] and Notice.objects.exists()
            ):
                told["ready"] = [serving.ask(h.port, "GET", "/readyz")[0] for h in (here, there)]
                time.sleep(1)
            names = list(Notice.objects.values_list("cylinder", "duty", "due", "days_before"))
            told["notices"], told["different"] = len(names), len(set(names))
    print(json.dumps(told))
finally:
    valkey.stop()
    server.stop()
"""


@pytest.mark.long
def test_two_hosts_are_one_service() -> None:
    done = subprocess.run(
        [sys.executable, "-c", HOSTS], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-3_000:]
    told = json.loads(done.stdout.splitlines()[-1])
    assert told["pages"] == [200, 200, 200, 200]
    assert told["before"] == [True, True]
    assert told["one record, posted at both"] == [201, 201]  # the second is the first one's answer
    assert told["records"] == 1
    assert told["after"] == [False, False]  # a page kept by one host is never older than the other
    assert told["ready"] == [200, 200]
    assert told["notices"] > 0
    assert told["notices"] == told["different"]
