"""What is looked at when a command starts, beside the settings themselves."""

from collections.abc import Collection
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import DEFAULT_DB_ALIAS

from api import arming, guards
from labels.printing import PrinterSettingFault, printers


@register
def printers_can_be_read(**_: Any) -> list[CheckMessage]:
    """The setting of the label printers names printers that labels can be sent to."""
    try:
        printers(settings.PRINTERS)
    except PrinterSettingFault as fault:
        return [Error(f"PRINTERS: {fault}", hint="README.md shows one.", id="labels.E001")]
    return []


@register(Tags.database)
def history_is_guarded(*, databases: Collection[str] | None = None, **_: Any) -> list[CheckMessage]:
    """The triggers stand that keep history and codes from being changed; ``serve`` asks first."""
    if DEFAULT_DB_ALIAS not in (databases or ()):
        return []
    return [Error(problem, id="api.E001") for problem in guards.problems()]


@register
def no_restore_is_unfinished(**_: Any) -> list[CheckMessage]:
    """A place where a restore failed half-way is not taken for the shop."""
    if not arming.unfinished().exists():
        return []
    says = f"A restore did not end well here: {arming.unfinished()} says so."
    hint = "Empty the database and VAR_DIR, keep since.json, and restore again."
    return [Error(says, hint=hint, id="api.E002")]
