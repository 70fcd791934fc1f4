"""The setting that names the mail server, in the way that each Django asks for."""

from typing import Any

import django

FOLDING = "tests.post_office.Backend"
SLOW = "tests.faults.sweeper.SlowBackend"


def named(backend: str) -> dict[str, Any]:
    """Name and value of the setting for ``backend``; Django 6.1 has another than 5.2."""
    if django.VERSION >= (6, 1):
        return {"MAILERS": {"default": {"BACKEND": backend}}}
    return {"EMAIL_BACKEND": backend}


def use(settings: Any, backend: str) -> None:
    """Have ``settings`` (of a test, or of a process of its own) name ``backend``."""
    for name, value in named(backend).items():
        setattr(settings, name, value)
