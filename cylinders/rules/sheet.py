"""A table as CSV (RFC 4180) that no spreadsheet takes for a program.

A cell that begins like a formula is shown as text (OWASP ASVS 5.0.0, V1.2.10).

>>> as_csv(("serial",), [{"serial": "=1+1"}, {"serial": "KX1"}]).splitlines()
['serial', "'=1+1", 'KX1']
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

_FORMULAS = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def as_csv(fields: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """The header and the rows; a name that a row lacks is an empty cell."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(fields)
    writer.writerows([plain(row.get(name, "")) for name in fields] for row in rows)
    return out.getvalue()


def plain(cell: str) -> str:
    """The cell as text that no sheet takes for a formula."""
    begins = cell.lstrip(" \u00a0\n\x0b\x0c\u3000")
    return f"'{cell}" if begins.startswith(_FORMULAS) else cell
