"""A blank tag that was printed before is scanned where it is needed, and is bound there."""

import datetime as dt

from django.http import HttpRequest

from api.pages.bench.resolve import scanned
from api.pages.bench.scan import landing
from api.pages.told import Told, Tone
from cylinders.facts import Actor
from labels.operations import binding
from labels.operations.binding import Thing
from labels.scanning import ScanState, Unnamed


def bind_or_open(
    request: HttpRequest,
    text: str,
    thing: Thing,
    *,
    name: str,
    at: dt.datetime,
    by: Actor,
) -> Told:
    """Bind a blank tag to ``thing``; a tag in use opens its own page and binds nothing.

    ``name`` is how the bench calls the thing. Raises :class:`Refused` as ``binding.bind`` does.
    """
    named = scanned(request, text)
    if isinstance(named, Unnamed):
        shown = f" ({named.shown})" if named.shown else ""
        return Told(f"{named.says}{shown} Nothing was bound.", "", Tone.FAIL, "NOT OUR TAG")
    if named.state is ScanState.BLANK:
        binding.bind(code=named.tag.code, thing=thing, at=at, by=by)
        return Told(f"{named.tag.code} is now the tag of the {name}.", "", Tone.OK, "BOUND")
    if named.state is ScanState.LIVE and named.cylinder is not None:
        says = f"{named.tag.code} is in use already: this is what it stands for."
        return Told(says, landing(named, named.cylinder), Tone.CAUTION)
    says = f"{named.tag.code} is retired. Take a blank one."
    return Told(says, "", Tone.FAIL, "RETIRED")
