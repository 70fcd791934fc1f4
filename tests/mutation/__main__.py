"""The command: ``python -m tests.mutation [NAME ...]``; without a name, every target."""

import importlib.util
import sys
import time
from pathlib import Path

from tests.mutation.mutants import mutants
from tests.mutation.reasons import REASONS
from tests.mutation.run import survives
from tests.mutation.targets import TARGETS, Target


def main(names: list[str]) -> int:
    """Judge each named target; 0 where every survivor has its reason, and every reason its own."""
    unknown = [name for name in names if name not in TARGETS]
    if unknown:
        say(f"no such target: {', '.join(unknown)}; there are {', '.join(TARGETS)}")
        return 2
    results = [_judged(name, TARGETS[name]) for name in names or TARGETS]
    return 0 if all(results) else 1


def _judged(name: str, target: Target) -> bool:
    began = time.monotonic()
    source = _source(target.module)
    if not survives(target.module, source, target.tests):
        say(f"{name}: its tests fail without any mutant")
        return False
    made = list(mutants(source))
    left = [one for one in made if survives(target.module, one.source, target.tests)]
    reasons = REASONS.get(name, {})
    bare = [one for one in left if one.name not in reasons]
    needless = set(reasons) - {one.name for one in left}
    for one in bare:
        say(f"{name}:{one.line}  SURVIVES  {one.name}")
    for old in sorted(needless):
        say(f"{name}  reason no longer needed: {old}")
    took = time.monotonic() - began
    say(
        f"{name}: {len(made)} mutants, {len(made) - len(left)} noticed, "
        f"{len(left) - len(bare)} the same as the rule, {len(bare)} unexplained, {took:.0f} s"
    )
    return not bare and not needless


def say(line: str) -> None:
    """One line, at once: a run takes minutes."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _source(module: str) -> str:
    spec = importlib.util.find_spec(module)
    if spec is None or spec.origin is None:
        raise SystemExit(f"{module} has no file")
    return Path(spec.origin).read_text("utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
