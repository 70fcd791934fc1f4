"""``manage.py tags`` says what it could not use, leaves with 2, and spends no code on it."""

import io
from pathlib import Path

import pytest
from django.core.management import call_command

from labels.models import Tag

pytestmark = pytest.mark.django_db


def run(*words: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("tags", *words, stdout=out, stderr=err)
    except SystemExit as left:
        return int(left.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("print", "7K2M9QX4WBTCU"), "7K2M9QX4WBTCU: "),
        (("print", "7K2M9QX4WBTCK"), "no tag of this house bears that code"),
        (("print", "7K2M9QX4WBTC0"), "7K2M9QX4WBTC0: "),
        (("print", ""), ": "),
        (("print", "A" * 5000), "A: "),
        (("mint", "--count", "0"), ""),
        (("mint", "--count", "-3"), ""),
        (("mint", "--count", "100000000"), ""),
        (("mint", "--count", "1", "--pdf", "/nowhere/at/all/roll.pdf"), "nothing was minted"),
    ],
)
def test_what_cannot_be_used_is_refused_with_2_and_a_reason(
    words: tuple[str, ...], says: str
) -> None:
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert says in err
    assert err.strip()
    assert "Traceback" not in err
    assert not Tag.objects.exists()


def test_a_tag_is_minted_and_printed_again(tmp_path: Path) -> None:
    code, out, err = run("mint", "--count", "1", "--pdf", str(tmp_path / "roll.pdf"))
    assert code == 0, err
    assert (tmp_path / "roll.pdf").read_bytes().startswith(b"%PDF")
    assert run("print", out.split("  ")[0])[0] == 0
