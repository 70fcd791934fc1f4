"""Sends labels to printers that the configuration names; never to an address from a form.

A printer is named in the setting as one JSON object a name, for example::

    {
        "bench": {"address": "tcp://192.0.2.10:9100", "dpi": 203, "roll": "62mm"},
        "office": {"address": "ipp://192.0.2.11/ipp/print", "page": "a4"},
    }

``tcp`` takes a label printer that understands ZPL graphics: it gets the dots themselves. ``ipp``
and ``ipps`` take any printer of the Internet Printing Protocol: it gets a PDF. "Sent" is not
"printed": a person confirms the last good label.
"""

from labels.printing.fault import PrinterFault, Unclear
from labels.printing.printer import Printer, PrinterSettingFault, printers, send

__all__ = ["Printer", "PrinterFault", "PrinterSettingFault", "Unclear", "printers", "send"]
