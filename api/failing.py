"""What a browser is told when a page fails: that nothing was stored, and whether to try again."""

import logging
import sys

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template import loader

log = logging.getLogger(__name__)
_FAULT, _AWAY = 500, 503
#: Seconds after which it is worth trying again.
_SOON = "5"


def server_error(_request: HttpRequest) -> HttpResponse:
    """The page for a fault; 503 where it is the database that cannot be reached or written.

    It asks neither the database nor the session, since these may be what fails.
    """
    fault = sys.exc_info()[1]
    if isinstance(fault, OperationalError | InterfaceError):
        log.error("the database failed: %s", fault)
        content = loader.get_template("503.html").render()
        return HttpResponse(content, status=_AWAY, headers={"Retry-After": _SOON})
    return HttpResponse(loader.get_template("500.html").render(), status=_FAULT)
