r"""Whether a text can be read as a stamp at all: the refusals that commands and pages share.

>>> problems_of("DOT-3AL3000"), problems_of(" \t ")
([], ['the text is empty; type what is stamped on the cylinder'])
"""

from cylinders.rules.markings.normalising import normalise

#: a stamp with all its tests has a few hundred characters
LONGEST = 100_000


def problems_of(text: str) -> list[str]:
    """Return why ``text`` cannot be used, one sentence for each reason; none if it can be."""
    if len(text) > LONGEST:
        return [f"the text has more than {LONGEST} characters; a stamp has a few hundred"]
    found = []
    if not normalise(text).text.strip():
        found.append("the text is empty; type what is stamped on the cylinder")
    if "\0" in text:
        place = text.index("\0")
        found.append(f"character {place + 1} is a NUL, which no stamp has; remove it")
    return found
