"""Generated requests to the real web server over a socket get what the schema promises."""

import json
from itertools import count
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.core.result import Ok

from tests.faults.live import Live

pytestmark = pytest.mark.long

EXAMPLES = 40


def test_every_route_keeps_its_promises_on_a_socket(live: Live) -> None:
    live.more["LAB_REQUESTS_PER_MINUTE"] = "1000000"  # else nearly all would be told to wait
    world = json.loads(live.run("tests.faults.many_tanks", "3"))
    live.start()
    loaded = schemathesis.openapi.from_url(f"{live.address}/api/v1/schema")
    headers = {"Authorization": f"Bearer {world['key']}"}
    fresh, asked = count(1), {"routes": 0, "requests": 0}
    for result in loaded.get_all_operations():
        assert isinstance(result, Ok)

        @given(case=result.ok().as_strategy())
        @settings(
            max_examples=EXAMPLES,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        def conforms(case: schemathesis.Case[Any]) -> None:
            # What is stored is stored once: a key that comes again would only be answered again.
            if case.headers and "Idempotency-Key" in case.headers:
                case.headers["Idempotency-Key"] = str(next(fresh))
            case.call_and_validate(headers=headers)
            asked["requests"] += 1

        conforms()
        asked["routes"] += 1
    print(f"{asked['requests']} requests to {asked['routes']} operations")  # noqa: T201 - the report
    assert asked["routes"] > 30
    assert "nothing altered" in live.run("django", "verify")
    told = (live.folder / "server.log").read_text()
    assert "Traceback" not in told, told[-3_000:]
