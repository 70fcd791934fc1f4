"""What is looked at when a command starts, beside the settings themselves."""

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, register

from labels.printing import PrinterSettingFault, printers


@register
def printers_can_be_read(**_: Any) -> list[CheckMessage]:
    """The setting of the label printers names printers that labels can be sent to."""
    try:
        printers(settings.PRINTERS)
    except PrinterSettingFault as fault:
        return [Error(f"PRINTERS: {fault}", hint="README.md shows one.", id="labels.E001")]
    return []
