"""What was scanned or typed at the bench, as the thing that it names."""

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext as _

from api.wording import told
from cylinders.rules.refusal import Refused
from labels.scanning import Named, ScanState, Unnamed, identify


def our_hosts(request: HttpRequest) -> set[str]:
    """The hosts in the addresses of our tags: the printed one, and the one of this page."""
    return {str(settings.TAG_HOST), request.get_host()}


def scanned(request: HttpRequest, text: str) -> Named | Unnamed:
    """What ``text`` names."""
    return identify(text, hosts=our_hosts(request))


def other_cylinder(request: HttpRequest, text: str) -> int | None:
    """The cylinder whose tag was scanned into a field; None for an empty field.

    Raises :class:`Refused` with what the scan was instead.
    """
    if not text.strip():
        return None
    named = scanned(request, text)
    if isinstance(named, Unnamed):
        raise Refused("not_a_tag", _("The other cylinder: %(named)s") % {"named": told(named.says)})
    if named.cylinder is None or named.state is not ScanState.LIVE:
        raise Refused("not_a_cylinder", _("The other cylinder: that tag stands for nothing now."))
    return named.cylinder.pk
