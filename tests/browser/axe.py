"""axe-core in the open page: what it finds against WCAG 2.2 AA, in words."""

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
_RUN = """
runOnly => axe.run(document, {runOnly, resultTypes: ["violations"]})
"""
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


ALL_RULES = {"type": "tag", "values": TAGS}
#: what depends on size and colour, for a page of which the rest was looked over before
LOOKS = {"type": "rule", "values": ["color-contrast", "target-size", "link-in-text-block"]}


def violations(page: Page, rules: dict[str, Any] = ALL_RULES) -> list[str]:
    """Each violation with its rule and where it is; none is what every page must come to."""
    page.evaluate(f"() => {{ if (!window.axe) {{ {AXE} }} }}")
    found: dict[str, Any] = page.evaluate(_RUN, rules)
    return [
        f"{rule['id']}: {node['html'][:160]} {node['failureSummary']}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]
