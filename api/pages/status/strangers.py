"""A stranger with a tag goes straight to its page, past what only people who sign in need.

The page itself, its language and the headers of every answer are the same as by the long way; what
is left out is the session, the form's token, the messages and the search for the address.
"""

from collections.abc import Callable
from typing import TypeAlias

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from api.language import Chosen
from api.pages.bench.resolve import our_hosts
from api.pages.status.public import public_page

Answer: TypeAlias = Callable[[HttpRequest], HttpResponse]
_TAGS = ("/t/", "/T/")


class Strangers:
    """Answers for the address of a tag where nobody is signed in; everything else goes on."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response
        self.page = Chosen(_page)

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer here, or go the long way."""
        address, code = request.path_info[:3], request.path_info[3:]
        plain = request.method == "GET" and address in _TAGS and code and "/" not in code
        if not plain or settings.SESSION_COOKIE_NAME in request.COOKIES:
            return self.get_response(request)
        response = self.page(request)
        response.headers.setdefault("Content-Length", str(len(response.content)))
        response.headers["X-Frame-Options"] = settings.X_FRAME_OPTIONS
        return response


def _page(request: HttpRequest) -> HttpResponse:
    return public_page(request, request.path_info[3:], hosts=our_hosts(request))
