"""Kinds of bad input that are no text of their own, and the tests where they are tried instead."""

from collections.abc import Iterable
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]


def missing(names: Iterable[str]) -> list[str]:
    """Those of ``file::test`` (or a file, or a folder) that are not there."""
    return [name for name in names if not _is_there(name)]


def _is_there(name: str) -> bool:
    path, _, function = name.partition("::")
    where = _ROOT / path
    return where.exists() and (not function or f"def {function}(" in where.read_text("utf-8"))
