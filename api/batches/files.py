"""A lab's file, CSV or XML, as lines of JSON: one record a line, at the number that it had.

The heading and blank rows stay blank lines, so that a verdict names the line that a person sees.
"""

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from defusedxml import DefusedXmlException  # type: ignore[import-untyped] # it has no types
from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped] # the same

from api.batches.mapping import Mapping, value_of
from cylinders.rules.refusal import Refused
from cylinders.rules.sheet import plain

NDJSON, CSV, XML = "application/x-ndjson", "text/csv", "application/xml"
_LONGEST_CELL = 4_000
#: the columns that stand behind the lab's own in a file of lines to mend
GIVEN_BACK = ("line of the first file", "why it was not stored")


@dataclass(frozen=True, slots=True)
class File:
    """A file as records, one a line.

    A CSV's own text and its mapping are kept, to give back the lines that must be mended.
    """

    content: str
    source: str = ""
    mapping: dict[str, Any] | None = None


def as_lines(raw: bytes, media_type: str, mapping: Mapping | None) -> File:
    """The file as lines of JSON.

    Raises :class:`Refused`: ``no_mapping`` for CSV and XML without one, ``malformed_file``,
    ``wrong_encoding``, ``column_missing``, ``column_twice``.
    """
    if media_type == NDJSON:
        return File(_decoded(raw, "utf-8"))
    if mapping is None:
        raise Refused("no_mapping", "Name the saved mapping by which this file is to be read.")
    if media_type == CSV:
        text = _decoded(raw, mapping.encoding)
        return File(_of_csv(text, mapping), text, asdict(mapping))
    return File(_of_xml(raw, mapping))


def _decoded(raw: bytes, encoding: str) -> str:
    try:
        text = raw.decode(encoding)
    except UnicodeError as wrong:
        raise Refused("wrong_encoding", f"The file is not {encoding}: {wrong}.") from wrong
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        raise Refused("malformed_file", "The file holds NUL characters: it is no text.")
    return text


def _of_csv(text: str, mapping: Mapping) -> str:
    lines: list[str] = []
    heading: list[str] = []
    for number, row in rows_of(text, mapping.delimiter):
        # A cell may hold line ends: the record stands at the row's first line.
        lines += [""] * (number - 1 - len(lines))
        blank = not any(cell.strip() for cell in row)
        if not heading and not blank:
            heading = [cell.strip() for cell in row]
            _check_heading(heading, mapping)
            blank = True
        lines.append("" if blank else _line(heading, row, mapping))
    return "\n".join(lines)


def rows_of(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """``(first line, cells)`` of each row; raises :class:`Refused` (``malformed_file``)."""
    between = "\t" if delimiter == "tab" else delimiter
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True)
    first = 1
    try:
        for row in rows:
            yield first, row
            first = rows.line_num + 1
    except csv.Error as wrong:
        says = f"Line {rows.line_num} is no CSV with {delimiter!r} between cells: {wrong}."
        raise Refused("malformed_file", says) from wrong


def _check_heading(heading: Sequence[str], mapping: Mapping) -> None:
    for one in mapping.columns:
        count = heading.count(one.column)
        if count > 1:
            raise Refused("column_twice", f"The heading has {one.column!r} {count} times.")
        if not count:
            told = ", ".join(repr(name) for name in heading[:20])
            raise Refused("column_missing", f"The heading has no {one.column!r}; it has {told}.")


def _line(heading: Sequence[str], row: Sequence[str], mapping: Mapping) -> str:
    if len(row) != len(heading) or any(len(cell) > _LONGEST_CELL for cell in row):
        # Left whole for the reader to refuse: which cell belongs where cannot be known.
        return json.dumps({"cells_do_not_fit_the_heading": len(row)})
    given_back = set(GIVEN_BACK) <= set(heading)
    cells = [_as_written(cell) for cell in row] if given_back else row
    value = value_of(dict(zip(heading, cells, strict=True)), mapping)
    return json.dumps(value, ensure_ascii=False)


def _as_written(cell: str) -> str:
    """A cell of a file that was given back, without the sign that keeps a sheet from running it."""
    return cell[1:] if cell.startswith("'") and plain(cell[1:]) == cell else cell


def _of_xml(raw: bytes, mapping: Mapping) -> str:
    """Each child of the root is a record; each element in it without children is a cell."""
    try:
        root = fromstring(raw, forbid_dtd=True)
    except (DefusedXmlException, SyntaxError, ValueError, LookupError) as wrong:
        raise Refused("malformed_file", f"This is no XML that is read here: {wrong}.") from wrong
    lines = []
    for record in root:
        row: dict[str, str] = {}
        for cell in record:
            name = str(cell.tag)
            if name in row or len(cell):
                raise Refused("column_twice", f"A record has {name!r} twice, or nested.")
            row[name] = (cell.text or "")[:_LONGEST_CELL]
        lines.append(json.dumps(value_of(row, mapping), ensure_ascii=False))
    return "\n".join(lines)
