"""Bring the catalogues up to date with the code, and say what is not translated yet.

python -m tests.wording        every language that has a catalogue
python -m tests.wording de     begins one: fill in api/locale/de/LC_MESSAGES/django.po, run again
"""

import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

from tests.wording import catalogue


def main(names: list[str]) -> int:
    """Renew the catalogues of ``names``; leaves with 1 where something is left to translate."""
    open_ones = 0
    for language in names or catalogue.languages():
        missing = catalogue.renew(language)
        open_ones += len(missing)
        for message in missing:
            print(f"{language}: {message!r}")  # noqa: T201 - a command for the terminal
        print(f"{language}: {len(missing)} to translate")  # noqa: T201 - the same
    return bool(open_ones)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
