"""Audit both sets of pins; each problem is a line, and the last line says how many were audited."""

import json
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

from tests.audit.reading import pins, problems

PINS = Path(__file__).parents[2] / ".pins"


def audit(path: Path) -> list[str]:
    """The problems of one set of pins."""
    pinned = pins(path.read_text(encoding="ascii"))
    command = [sys.executable, "-m", "pip_audit", "--strict", "--disable-pip", "--no-deps"]
    command += ["--format", "json", "--progress-spinner", "off", "-r", str(path)]
    ran = subprocess.run(command, check=False, capture_output=True, text=True)
    try:
        told = json.loads(ran.stdout)
    except ValueError:
        said = ran.stderr.strip().splitlines()
        return [f"nothing was audited: {said[-1] if said else 'pip-audit said nothing'}"]
    return problems(told, pinned)


def main() -> int:
    """0 where everything was looked up and nothing is known against it."""
    if find_spec("pip_audit") is None:
        sys.stderr.write("pip-audit is missing: .venv/bin/pip install pip-audit\n")
        return 2
    found = {path.name: audit(path) for path in (PINS / "run.txt", PINS / "test.txt")}
    for name, said in found.items():
        sys.stdout.writelines(f"{name}: {one}\n" for one in said)
    count = len(pins((PINS / "test.txt").read_text(encoding="ascii")))
    wrong = sum(map(len, found.values()))
    sys.stdout.write(f"{count} packages pinned, {wrong} problems\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
