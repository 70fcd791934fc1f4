"""The pictures in the documents show what is drawn today."""

import io

import pytest
from PIL import Image, ImageChops

from tests.labels.contact_sheet import FOLDER, PICTURES


@pytest.mark.parametrize("name", PICTURES)
def test_the_picture_is_up_to_date(name: str) -> None:
    kept = Image.open(FOLDER / name).convert("L")
    today = Image.open(io.BytesIO(PICTURES[name]())).convert("L")
    assert kept.size == today.size
    assert ImageChops.difference(kept, today).getbbox() is None, (
        "make the pictures anew: python -m tests.labels.contact_sheet"
    )
