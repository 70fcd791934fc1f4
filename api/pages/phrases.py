"""What scripts say: the phrases go into the page where its language is not the script's English.

A script names a phrase by its English; without the block in the page it says just that. A test
holds these lists against the scripts.
"""

from collections.abc import Mapping

from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_noop as _

PHRASES: Mapping[str, tuple[str, ...]] = {
    "scanner": (
        _("Type the code, use a hand scanner, or send a photo."),
        _(
            "This page may not use the camera. Allow it in the browser's settings for this site "
            "and load the page again."
        ),
        _("There is no camera on this device."),
        _("Another program holds the camera. Close it and load the page again."),
        _("A camera needs a secure connection, and this page came over plain http."),
        _("The camera works, but the reader of codes did not load. Load the page again."),
        _("Starting the camera"),
        _("The camera did not start ({name})."),
        _("Hold a tag in view"),
        _("No network."),
        _("The server does not answer."),
        _("You are signed out, or the phone is locked: load this page again."),
        _("NOT OUR TAG"),
        _("This was read, and was not opened:"),
        _("None of them"),
        _("More than one tag is in view. Which one do you mean?"),
        _("Read {code}. Opening it"),
        _("NOT CHECKED"),
        _("The scan of {code} is kept on this phone and sent as soon as it can be."),
        _("REFUSED"),
        _("{count} not checked."),
        _("{count} refused after all."),
        _("{count} of somebody else wait until they sign in."),
        _("not checked"),
        _("refused"),
        _("Seen"),
        _("The page that it was scanned on is no longer there."),
    ),
    "certificate": (
        _("Specification"),
        _("Service pressure"),
        _("Serial"),
        _("Maker's mark"),
        _("Tested on"),
        _("Method"),
        _("Test pressure"),
        _("Total expansion"),
        _("Permanent expansion"),
        _("Share that stayed"),
        _("Result as recorded"),
        _("Good through the end of"),
        _("Requalifier's number"),
        _("Lab's record"),
        _("water jacket"),
        _("direct expansion"),
        _("proof pressure"),
        _("passed"),
        _("NOT GENUINE"),
        _("GENUINE"),
        _("This was not signed by a key of this shop. Do not use it."),
        _("Signed by the shop, and not changed since. Checked in this browser."),
        _("It was changed after it was signed, or not all of it was copied. Do not use it."),
    ),
}


def in_this_language(page: str) -> dict[str, str]:
    """The phrases of a page's scripts by their English; empty where the page speaks English."""
    if (get_language() or "en").startswith("en"):
        return {}
    return {phrase: gettext(phrase) for phrase in PHRASES[page]}
