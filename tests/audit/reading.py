"""What an audit found, read from the JSON that pip-audit writes, held against the pins."""

import re
from typing import Any

_PIN = re.compile(r"^([a-z0-9][a-z0-9.-]*)==(\S+)", re.MULTILINE)


def pins(text: str) -> dict[str, str]:
    """Each pinned package with its version."""
    return dict(_PIN.findall(text))


def problems(told: Any, pinned: dict[str, str]) -> list[str]:
    """Why this audit does not say that all is well, one sentence each; none where it does."""
    rows = told.get("dependencies", []) if isinstance(told, dict) else []
    if not rows:
        return ["nothing was audited"]
    found = []
    audited = {}
    for row in rows:
        name = str(row.get("name", "")).lower().replace("_", "-")
        if "skip_reason" in row:
            found.append(f"{name} was skipped: {row['skip_reason']}")
            continue
        audited[name] = row.get("version")
        found += [
            f"{name} {row.get('version')}: {hole.get('id')}, mended in "
            f"{', '.join(hole.get('fix_versions', [])) or 'no release'}"
            for hole in row.get("vulns", [])
        ]
    missing = sorted(name for name, version in pinned.items() if audited.get(name) != version)
    skipped = {one.partition(" was skipped")[0] for one in found}
    return found + [f"{name} was not looked up" for name in missing if name not in skipped]
