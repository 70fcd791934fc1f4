"""A sentence keeps what it was made of, also in a copy."""

import copy
import pickle

from cylinders.rules.wording import Lowered, Saying, say


def test_a_copied_sentence_can_still_be_said_in_another_language() -> None:
    said = say("{number} ran out", number="Z999")
    for again in (copy.deepcopy(said), pickle.loads(pickle.dumps(said))):  # noqa: S301 - our own bytes
        assert isinstance(again, Saying)
        assert (again, again.template, again.figures) == (
            "Z999 ran out",
            "{number} ran out",
            {"number": "Z999"},
        )


def test_a_lowered_sentence_keeps_the_one_it_was_made_of() -> None:
    for lowered in (Lowered("Hold It"), copy.deepcopy(Lowered("Hold It"))):
        assert (lowered, lowered.sentence) == ("hold it", "Hold It")
