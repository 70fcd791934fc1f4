"""Which sentences the service says to people, and what the catalogues make of them.

Sentences stand in the code as ``say("...")``, ``_("...")`` and their like, in templates as
``{% translate %}``, in scripts as ``_("...")``. Catalogues are gettext's: ``django.po`` for people,
``django.mo`` for the program.
"""

import io
from collections.abc import Iterator, Mapping
from pathlib import Path

from babel.messages import Catalog, extract
from babel.messages.catalog import Message as CatalogMessage
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

HOUSE = Path(__file__).resolve().parents[2]
LOCALE = HOUSE / "api" / "locale"
KEYWORDS = {
    **dict.fromkeys(("_", "say", "phrase", "gettext", "gettext_lazy", "gettext_noop"), None),
    **dict.fromkeys(("ngettext", "ngettext_lazy", "numbered"), (1, 2)),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), ((1, "c"), 2)),
}
_TEMPLATES = HOUSE / "api" / "pages" / "templates"
_SCRIPTS = HOUSE / "api" / "pages" / "static"
#: what speaks to the terminal, in English
_COMMANDS = {"management", "demo", "migrations", "backups", "processes.py", "guards.py"}

Message = str | tuple[str, ...] | list[str]


def languages() -> list[str]:
    """The languages that have a catalogue."""
    return sorted(path.name for path in LOCALE.iterdir() if path.is_dir())


def extracted() -> Catalog:
    """Every sentence of the code and the templates, with the files where it stands."""
    found = Catalog(fuzzy=False)
    for path, message, context in _all():
        if not message:
            continue
        where = [(path.relative_to(HOUSE).as_posix(), 1)]
        found.add(message, locations=where, context=context)
    return found


def in_two_ways() -> set[str]:
    """Sentences that are said plainly and by number as well, without a context to tell them apart.

    Python 3.11.2 does not find such a one where it is said plainly; 3.11.7 does.
    """
    plain: set[tuple[str | None, str]] = set()
    counted: set[tuple[str | None, str]] = set()
    for _, message, context in _all():
        if isinstance(message, str):
            plain.add((context, message))
        elif message:
            counted.add((context, message[0]))
    return {said for _, said in plain & counted}


def scripts() -> set[str]:
    """Every phrase that a script says."""
    said: set[str] = set()
    for path in _SCRIPTS.rglob("*.js"):
        if "vendor" in path.parts:
            continue
        with path.open("rb") as file:
            calls = extract.extract("javascript", file, keywords={"_": None})
            said |= {message for _, message, _, _ in calls if isinstance(message, str)}
    return said


def stored(language: str) -> Catalog:
    """The catalogue as the translators left it."""
    with (LOCALE / language / "LC_MESSAGES" / "django.po").open("rb") as file:
        return read_po(file, locale=language)


def compiled(catalogue: Catalog) -> bytes:
    """The catalogue for the program."""
    file = io.BytesIO()
    write_mo(file, catalogue)
    return file.getvalue()


def renew(language: str, translations: Mapping[str, Message] | None = None) -> list[Message]:
    """Bring the sentences of the code into the catalogue, keep what is translated, compile it.

    Returns what has no translation yet. Sentences that are said no more are dropped.
    """
    folder = LOCALE / language / "LC_MESSAGES"
    folder.mkdir(parents=True, exist_ok=True)
    known = stored(language) if (folder / "django.po").exists() else Catalog(locale=language)
    fresh = Catalog(locale=language, project="Cylinder service", version="1", fuzzy=False)
    fresh.header_comment = "# What the service says to people; see README.md."
    fresh.creation_date = fresh.revision_date = known.creation_date
    fresh.msgid_bugs_address = "service@shop.example.org"
    fresh.last_translator = fresh.language_team = "the shop <service@shop.example.org>"
    for message in extracted():
        if not message.id:
            continue  # the heading
        old = known.get(message.id, message.context)
        new = (translations or {}).get(_key(message))
        text = new or (old.string if old else None) or ""
        where = sorted({(name, 1) for name, _ in message.locations})
        fresh.add(message.id, text, locations=where, context=message.context)
    with (folder / "django.po").open("wb") as file:
        write_po(file, fresh, width=96, sort_by_file=True, include_lineno=False)
    (folder / "django.mo").write_bytes(compiled(stored(language)))
    return [message.id for message in stored(language) if message.id and not filled(message.string)]


def filled(translation: Message | None) -> bool:
    """Whether something stands there, in each number where it has several."""
    return all(translation) if isinstance(translation, list | tuple) else bool(translation)


def _key(message: CatalogMessage) -> str:
    """What a translation is handed in by: the singular, behind its context where it has one."""
    first = message.id if isinstance(message.id, str) else message.id[0]
    return f"{message.context}\4{first}" if message.context else first


def _all() -> Iterator[tuple[Path, Message, str | None]]:
    for room in ("cylinders", "labels", "api"):
        for path in sorted((HOUSE / room).rglob("*.py")):
            if not _COMMANDS.intersection(path.parts):
                yield from _calls(path, path.read_bytes())
    for path in sorted(_TEMPLATES.rglob("*.*")):
        code = templatize(path.read_text(encoding="utf-8"), origin=path.name)
        yield from _calls(path, f"({code})".encode())


def _calls(path: Path, code: bytes) -> Iterator[tuple[Path, Message, str | None]]:
    found = extract.extract("python", io.BytesIO(code), keywords=KEYWORDS)
    for _, message, _, context in found:
        yield path, message, context
