"""A lab's file, CSV or XML, as lines of JSON: one record a line, at the number that it had.

The heading and blank rows stay blank lines, so that a verdict names the line that a person sees.
"""

import csv
import io
import json
from collections.abc import Sequence

from defusedxml import DefusedXmlException  # type: ignore[import-untyped] # it has no types
from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped] # the same

from api.batches.mapping import Mapping, value_of
from cylinders.rules.refusal import Refused

NDJSON, CSV, XML = "application/x-ndjson", "text/csv", "application/xml"
_LONGEST_CELL = 4_000


def as_lines(raw: bytes, media_type: str, mapping: Mapping | None) -> str:
    """The file as lines of JSON.

    Raises :class:`Refused`: ``no_mapping`` for CSV and XML without one, ``malformed_file``,
    ``wrong_encoding``, ``column_missing``, ``column_twice``.
    """
    if media_type == NDJSON:
        return _decoded(raw, "utf-8")
    if mapping is None:
        raise Refused("no_mapping", "Name the saved mapping by which this file is to be read.")
    if media_type == CSV:
        return _of_csv(_decoded(raw, mapping.encoding), mapping)
    return _of_xml(raw, mapping)


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
    delimiter = "\t" if mapping.delimiter == "tab" else mapping.delimiter
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    lines: list[str] = []
    heading: list[str] = []
    first = 1
    try:
        for row in rows:
            blank = not any(cell.strip() for cell in row)
            if not heading and not blank:
                heading = [cell.strip() for cell in row]
                _check_heading(heading, mapping)
                made = ""
            else:
                made = "" if blank else _line(heading, row, mapping)
            # A cell may hold line ends: the record stands at the row's first line.
            lines += [made] + [""] * (rows.line_num - first)
            first = rows.line_num + 1
    except csv.Error as wrong:
        says = f"Line {rows.line_num} is no CSV with {mapping.delimiter!r} between cells: {wrong}."
        raise Refused("malformed_file", says) from wrong
    return "\n".join(lines)


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
    value = value_of(dict(zip(heading, row, strict=True)), mapping)
    return json.dumps(value, ensure_ascii=False)


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
