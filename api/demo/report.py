"""What the demonstration did: one entry a step, one a tag, written where a script can read it."""

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path

from api.demo.printing import write_tag
from labels.models import Tag


@dataclass(slots=True)
class Step:
    """One step: a number, a name, whether it did what it should, a sentence, files made."""

    n: int
    name: str
    ok: bool
    says: str
    files: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Report:
    """The report in the shape of ``var/demo/report.json``; ``say`` prints each step as it comes."""

    folder: Path
    steps: list[Step] = field(default_factory=list)
    tags: list[dict[str, str]] = field(default_factory=list)
    addresses: dict[str, str] = field(default_factory=dict)
    accounts: dict[str, dict[str, str]] = field(default_factory=dict)

    @property
    def ok(self) -> bool:
        """Whether every step did what it should."""
        return bool(self.steps) and all(step.ok for step in self.steps)

    def step(
        self,
        name: str,
        *,
        ok: bool,
        says: str,
        tags: tuple[Tag, ...] = (),
        files: tuple[str, ...] = (),
    ) -> Step:
        """Add a step, with the tags that were printed at it and any other file it made."""
        printed = [path for tag in tags for path in self._print(tag)]
        done = Step(len(self.steps) + 1, name, ok, says, [*printed, *files])
        self.steps.append(done)
        return done

    def write(self) -> Path:
        """Write ``report.json`` and return its path."""
        answer = {
            "ok": self.ok,
            "steps": [asdict(step) for step in self.steps],
            "tags": self.tags,
            "addresses": self.addresses,
            "accounts": self.accounts,
        }
        path = self.folder / "report.json"
        # It holds the demonstration's passwords and key: nobody else on the machine reads it.
        path.touch(mode=0o600)
        path.chmod(0o600)
        path.write_text(json.dumps(answer, indent=2) + "\n", encoding="utf-8")
        return path

    def _print(self, tag: Tag) -> list[str]:
        files = write_tag(tag, self.folder / "tags")
        self.tags.append(
            {
                "kind": tag.kind,
                "code": tag.code,
                "url": tag.url,
                "png": files.png_203,
                "pdf": files.pdf,
            },
        )
        return files.all
