r"""A reading for a person: one line for each mark, then what is warned of, asked and unread.

>>> visible("a\u202eb\x1b[2J")
'a\\u202eb\\x1b[2J'
"""

from typing import Any

from cylinders.rules.markings.json_shape import as_json
from cylinders.rules.markings.reading import Reading

_NAMES = {
    "original": "specification",
    "original_un": "UN or ISO stamp",
    "requalification_megc": "container requalification",
    "manufacturer_mark": "maker",
}
#: repeated by another field, or for machines only
_LEFT_OUT = frozenset({"kind", "value", "pattern", "block", "ambiguous"})


def in_words(reading: Reading) -> str:
    """Return ``reading`` as lines of text; characters that would not show are written out."""
    answer = as_json(reading)
    lines = ["CONDEMNED: no service of any kind"] if reading.condemned else []
    lines += [f"{_NAMES.get(m['kind'], m['kind'])}: {_fields(m)}" for m in answer["marks"]]
    lines += [f"dual mark: {_fields(answer['dual'])}"] if answer["dual"] else []
    lines += [f"warning: {one['says']} ({one['cites']})" for one in answer["warnings"]]
    lines += [f"question: {q['says']} [{' | '.join(q['choices'])}]" for q in answer["questions"]]
    lines += [
        f"not read: {part['text']} (line {part['line']}, column {part['column']})"
        for part in answer["unread_at"]
    ]
    return "\n".join(visible(line) for line in lines)


def _fields(mark: dict[str, Any]) -> str:
    """Return the fields that have a value, in their order."""
    told = [
        f"{name.replace('_', ' ')} {_value(value)}"
        for name, value in mark.items()
        if name not in _LEFT_OUT and value not in (None, [], False)
    ]
    return ", ".join(told) or "nothing more is stamped"


def _value(value: Any) -> str:
    """Return a value in words: a quantity with its unit, a list with commas."""
    if isinstance(value, dict):
        return " ".join(str(part) for part in value.values())
    if isinstance(value, list):
        return ", ".join(value)
    return "yes" if value is True else str(value)


def visible(text: str) -> str:
    """Return ``text`` with every character that does not show, or steers a screen, written out."""
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode() for char in text
    )
