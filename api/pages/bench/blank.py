"""A blank tag that was printed before is scanned where it is needed, and is bound there."""

import datetime as dt

from django.http import HttpRequest
from django.utils.translation import gettext as _

from api.pages.bench.resolve import scanned
from api.pages.bench.scan import landing
from api.pages.told import Told, Tone
from api.wording import told
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
        return Told(
            _("%(named)s%(shown)s Nothing was bound.")
            % {"named": told(named.says), "shown": shown},
            "",
            Tone.FAIL,
            _("NOT OUR TAG"),
        )
    if named.state is ScanState.BLANK:
        binding.bind(code=named.tag.code, thing=thing, at=at, by=by)
        return Told(
            _("%(code)s is now the tag of the %(name)s.") % {"code": named.tag.code, "name": name},
            "",
            Tone.OK,
            _("BOUND"),
        )
    if named.state is ScanState.LIVE and named.cylinder is not None:
        says = _("%(code)s is in use already: this is what it stands for.") % {
            "code": named.tag.code
        }
        return Told(says, landing(named, named.cylinder), Tone.CAUTION)
    says = _("%(code)s is retired. Take a blank one.") % {"code": named.tag.code}
    return Told(says, "", Tone.FAIL, _("RETIRED"))
