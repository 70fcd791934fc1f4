r"""Whether a text can be read as a stamp at all: the refusals that commands and pages share.

>>> problems_of("DOT-3AL3000"), problems_of(" \t ")
([], ['the text is empty; type what is stamped on the cylinder'])
"""

from cylinders.rules.markings.normalising import normalise
from cylinders.rules.wording import say

#: a stamp with all its tests has a few hundred characters; a longer text is refused, never cut
LONGEST = 600


def problems_of(text: str) -> list[str]:
    """Return why ``text`` cannot be used, one sentence for each reason; none if it can be."""
    if len(text) > LONGEST:
        return [
            say(
                "the text has more than {longest} characters; a stamp has a few hundred",
                longest=LONGEST,
            )
        ]
    found = []
    if not normalise(text).text.strip():
        found.append(say("the text is empty; type what is stamped on the cylinder"))
    if "\0" in text:
        place = text.index("\0")
        found.append(
            say("character {place} is a NUL, which no stamp has; remove it", place=place + 1)
        )
    return found
