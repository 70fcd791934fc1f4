"""What a judgement checked, as a page shows it: what stands against it first, worst first."""

from collections.abc import Mapping
from typing import Any

_TONES = {"ok": "ok", "fail": "fail", "caution": "caution"}
_ORDER = {"fail": 0, "unknown": 1, "caution": 2}


def checked(answer: Mapping[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """``checks`` that stand against it and ``good`` ones, for ``pages/checked.html``."""
    every = [
        check | {"tone": _TONES.get(check["outcome"], "unknown")} for check in answer["checks"]
    ]
    against = [check for check in every if check["tone"] != "ok"]
    return {
        "checks": sorted(against, key=lambda check: _ORDER[check["tone"]]),
        "good": [check for check in every if check["tone"] == "ok"],
    }
