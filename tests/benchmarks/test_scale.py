"""What is asked all day never reads a big table from end to end: ten thousand cylinders show it.

PostgreSQL only, and in a process of its own, so that it runs beside tests on either engine.
"""

import json
import subprocess
import sys

PLANS = """
import json
from tests.benchmarks import ground
server = ground.settle()
try:
    from tests.benchmarks import scale
    print(json.dumps(scale.whole_tables(10_000)))
finally:
    server.stop()
"""


def test_no_question_of_the_day_reads_a_big_table_from_end_to_end() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PLANS], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    assert len(told) >= 10
    assert {name: tables for name, tables in told.items() if tables} == {}
