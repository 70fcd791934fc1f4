"""What can go wrong between here and the paper."""

from __future__ import annotations


class PrinterFault(RuntimeError):
    """Raised when nothing was printed: no connection, or the printer refused the job."""


class Unclear(RuntimeError):
    """Raised when the connection broke after data had left: labels may or may not be printed.

    The run must ask a person which label came out last; it must not be sent again by itself.
    """
