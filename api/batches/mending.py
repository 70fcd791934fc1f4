"""The lines of a file that were not stored, as CSV: to be mended and sent again as they are.

A CSV comes back in the lab's own columns and encoding, with two columns behind them; other files as
line, reason and record. What a sheet would run as a formula is shown as text, and read back.
"""

import csv
import io
import re

from api.batches.files import GIVEN_BACK, rows_of
from api.batches.running import lines_of
from api.models import BatchLine, ResultBatch
from cylinders.rules.sheet import as_csv, plain

_OUTCOMES = (
    BatchLine.Outcome.REFUSED,
    BatchLine.Outcome.KEPT_BACK,
)
_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?", re.ASCII)


def not_stored(batch: ResultBatch) -> bytes:
    """The CSV; it holds a heading only where every line was taken."""
    why = {line.number: _why(line) for line in batch.lines.filter(outcome__in=_OUTCOMES)}
    if not batch.source or not batch.mapping:
        fields = (*GIVEN_BACK, "record")
        rows = [
            {GIVEN_BACK[0]: str(number), GIVEN_BACK[1]: why[number], "record": text}
            for number, text in lines_of(batch.content)
            if number in why
        ]
        return as_csv(fields, rows).encode("utf-8-sig")
    encoding = str(batch.mapping["encoding"])
    made = _in_own_columns(batch.source, str(batch.mapping["delimiter"]), why)
    return made.encode("utf-8-sig" if encoding == "utf-8" else encoding, "replace")


def _in_own_columns(source: str, delimiter: str, why: dict[int, str]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, delimiter="\t" if delimiter == "tab" else delimiter)
    width = 0
    for number, row in rows_of(source, delimiter):
        if not width and any(cell.strip() for cell in row):
            heading = [cell for cell in row if cell.strip() not in GIVEN_BACK]
            width = len(heading)
            writer.writerow([*heading, *GIVEN_BACK])
        elif number in why:
            # A row with a cell too few or too many keeps them where they stand.
            cells = [_shown(cell) for cell in row[:width]] + [""] * (width - len(row))
            writer.writerow([*cells, str(number), plain(why[number])])
    return out.getvalue()


def _shown(cell: str) -> str:
    return cell if _NUMBER.fullmatch(cell) else plain(cell)


def _why(line: BatchLine) -> str:
    places = "; ".join(f"{one['pointer']}: {one['detail']}" for one in line.errors)
    return places or line.says
