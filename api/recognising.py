"""An English sentence that was stored with its figures in it, found again in the catalogue.

Judgements and events keep the sentence as it was said, because that is what was hashed. To show it
in another language its template is looked for: the one whose fixed words cover most of it. Figures
are carried over letter by letter.
"""

import gettext as catalogues
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from string import Formatter

from django.conf import settings
from django.utils.translation import get_language, to_locale

_SHORTEST = 4  # fixed letters that a template must have to be recognised by
_BETWEEN_SENTENCES = re.compile(r"(?<=[.!?]) (?=[A-Z0-9])")


@dataclass(frozen=True, slots=True)
class _Template:
    fixed: str
    weight: int
    pattern: re.Pattern[str]
    translation: str


def translated(text: str, tell: Callable[[str], str]) -> str:
    """``text`` in the present language, empty where it is not recognised.

    ``tell`` translates what stands in the place of a figure, where that is a sentence itself.
    """
    language = to_locale(get_language() or "en")
    found = _match(language, text)
    if found:
        template, figures = found
        return template.format(**{name: tell(value) for name, value in figures})
    parts = _BETWEEN_SENTENCES.split(text)
    said = [tell(part) for part in parts] if len(parts) > 1 else []
    unknown = any(one == part for one, part in zip(said, parts, strict=True)) if said else True
    return "" if unknown else " ".join(said)


@lru_cache(maxsize=4096)
def _match(language: str, text: str) -> tuple[str, tuple[tuple[str, str], ...]] | None:
    for template in _templates(language):
        if template.fixed in text:
            found = template.pattern.fullmatch(text)
            if found:
                return template.translation, tuple(found.groupdict().items())
    return None


@cache
def _templates(language: str) -> list[_Template]:
    """The sentences with figures of the catalogue, those with most fixed letters first."""
    made: list[_Template] = []
    for folder in settings.LOCALE_PATHS:
        file = Path(folder) / language / "LC_MESSAGES" / "django.mo"
        if not file.exists():
            continue
        with file.open("rb") as opened:
            messages = catalogues.GNUTranslations(opened)._catalog  # type: ignore[attr-defined]  # noqa: SLF001 - the standard library has no other list of its messages
        made += [
            _template(english, other)
            for english, other in messages.items()
            if isinstance(english, str) and "{" in english
        ]
    able = [one for one in made if one.weight >= _SHORTEST]
    return sorted(able, key=lambda one: -one.weight)


def _template(english: str, translation: str) -> _Template:
    pattern, fixed, seen = "", [""], set[str]()
    for literal, name, _spec, _how in Formatter().parse(english):
        pattern += re.escape(literal)
        fixed.append(literal)
        if name:
            pattern += f"(?P={name})" if name in seen else f"(?P<{name}>.*?)"
            seen.add(name)
    weight = sum(letter.isalpha() for part in fixed for letter in part)
    bare = re.sub(r"\{([a-z0-9_]+)[^}]*\}", r"{\1}", translation)  # a figure is text by now
    return _Template(max(fixed, key=len), weight, re.compile(pattern, re.DOTALL), bare)
