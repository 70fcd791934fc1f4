"""What scripts say is in the lists from which a page gets its translations, and the other way."""

from api.pages.phrases import PHRASES
from tests.wording import catalogue

#: words that come out of a certificate, and are looked up as they stand
FROM_DATA = {"water jacket", "direct expansion", "proof pressure", "passed"}


def test_every_phrase_of_a_script_is_given_to_its_page_and_no_other() -> None:
    listed = {phrase for phrases in PHRASES.values() for phrase in phrases}
    said = catalogue.scripts()
    assert len(said) > 35
    assert listed - FROM_DATA == said
