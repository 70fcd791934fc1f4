"""The documents say what the code is: every rule, every command, every setting, nothing else."""

import re
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent.parent
README = (HOUSE / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")
RULES = HOUSE / "cylinders" / "rules"


def rule_modules() -> list[str]:
    files = {path.stem for path in RULES.glob("*.py")} - {"__init__"}
    packages = {path.parent.name for path in RULES.glob("*/__init__.py")}
    return sorted(files | packages)


@pytest.mark.parametrize("module", rule_modules())
def test_every_rule_stands_in_the_table_of_sources(module: str) -> None:
    table = DEVELOPERS.partition("## 3.")[2].partition("## 4.")[0]
    assert f"`{module}`" in table


def test_the_table_of_sources_names_no_rule_that_is_gone() -> None:
    table = DEVELOPERS.partition("| question |")[2].partition("## 4.")[0]
    named = {
        name
        for row in table.splitlines()
        if row.count("|") > 3
        for name in re.findall(r"`([a-z_]+)`", row.split("|")[2])
    }
    assert named <= set(rule_modules())


def test_every_setting_is_in_the_readme() -> None:
    asked = set()
    for name in ("settings.py", "environment.py", "bootstrap.py"):
        text = (HOUSE / "api" / name).read_text(encoding="utf-8")
        asked |= set(re.findall(r'environment\.\w+\(\s*"([A-Z][A-Z_]+)"', text))
        asked |= set(re.findall(r'environ(?:\.get)?[\(\[]\s*"([A-Z][A-Z_]+)"', text))
    assert len(asked) > 15, asked
    assert sorted(name for name in asked if f"`{name}`" not in README) == []


def test_every_command_is_in_the_readme() -> None:
    commands = {path.stem for path in HOUSE.glob("*/management/commands/*.py")} - {"__init__"}
    told = re.findall(r"manage\.py ([a-z_]+)", README)
    assert sorted(commands - set(told)) == []


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, _, rest = README.partition("\n\n")
    assert title.startswith("# ")
    paragraph = rest.partition("\n\n")[0]
    assert not paragraph.startswith(("#", ">", "-", "|"))
    for word in ("stamps", "lab", "valve", "reassembly", "reminder", "link"):
        assert word in paragraph


def test_every_picture_and_link_of_the_documents_is_there() -> None:
    for text in (README, DEVELOPERS):
        for target in re.findall(r"\]\((?!https?://|#)([^)#]+)", text):
            assert (HOUSE / target).exists(), target
