"""What every answer carries: a request id, a content security policy, closed permissions.

A page loads nothing from elsewhere and runs no script that this server did not send. Views that
need less strictness say so with a decorator from here, in one word, where a reader sees it.
"""

import logging
import re
import secrets
import time
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeAlias, TypeVar

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from api.logs import request_id

P = ParamSpec("P")
R = TypeVar("R", bound=HttpResponseBase)
View: TypeAlias = Callable[Concatenate[HttpRequest, P], R]
Answer: TypeAlias = Callable[[HttpRequest], HttpResponse]

NONCE = "cylinders.nonce"  # key in request.META; templates get it as {{ nonce }}
SAFE_ID = re.compile(r"[A-Za-z0-9-]{8,64}")
FIXED = (
    "default-src 'none'",
    "style-src 'self'",
    "img-src 'self' blob: data:",
    "font-src 'self'",
    "connect-src 'self'",
    "media-src 'self' blob:",
    "worker-src 'self' blob:",
    "manifest-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "object-src 'none'",
    "frame-ancestors 'none'",
)
CLOSED = "camera=(), microphone=(), geolocation=(), payment=(), usb=()"
CAMERA = CLOSED.replace("camera=()", "camera=(self)")
THE_PAGE_ITSELF = (200, 409, 422)  # fresh, with a refusal, with a fault
PROBES = frozenset({"/livez", "/readyz"})

access = logging.getLogger("api.access")


def policy(nonce: str, *, wasm: bool = False) -> str:
    """Return the content security policy of one answer (OWASP ASVS 5.0.0, V3.4.3 and V3.4.6).

    `wasm` lets the page compile WebAssembly, which the camera's code reader is made of.
    """
    scripts = f"script-src 'self' 'nonce-{nonce}'" + (" 'wasm-unsafe-eval'" if wasm else "")
    return "; ".join((scripts, *FIXED))


def nonce(request: HttpRequest) -> dict[str, str]:
    """Give templates the nonce of this answer: ``<script nonce="{{ nonce }}">``."""
    return {"nonce": request.META[NONCE]}


class RequestIds:
    """Give each request an id, answer with it, and write one line of access log.

    An id from outside is kept if it is plain (a lab's own trace id); anything else is replaced.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer with the header ``X-Request-Id``."""
        given = request.headers.get("X-Request-Id", "")
        chosen = given if SAFE_ID.fullmatch(given) else secrets.token_hex(8)
        token = request_id.set(chosen)
        began = time.perf_counter()
        try:
            response = self.get_response(request)
            response.headers["X-Request-Id"] = chosen
            level = logging.DEBUG if request.path in PROBES else logging.INFO
            facts = {
                "method": request.method,
                "status": response.status_code,
                "ms": round(1000 * (time.perf_counter() - began)),
            }
            access.log(level, "%s %s", request.method, request.path, extra=facts)
            return response
        finally:
            request_id.reset(token)


class SecurityHeaders:
    """Set the headers that Django leaves out; a view that set its own keeps them."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer with policy, permissions and, unless the view said otherwise, no caching."""
        request.META[NONCE] = secrets.token_urlsafe(16)
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", policy(request.META[NONCE]))
        response.headers.setdefault("Permissions-Policy", CLOSED)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response


def with_camera(view: View[P, R]) -> View[P, R]:
    """Let this page use the camera and the WebAssembly that reads codes from it.

    What is answered in its place, such as the question for a PIN, may use neither.
    """

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R:
        response = view(request, *args, **kwargs)
        if response.status_code not in THE_PAGE_ITSELF:
            return response
        response.headers["Permissions-Policy"] = CAMERA
        response.headers["Content-Security-Policy"] = policy(request.META[NONCE], wasm=True)
        return response

    return answer


def unlisted(view: View[P, R]) -> View[P, R]:
    """Keep a page that is reached by a secret link out of caches, referrers and search engines."""

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R:
        response = view(request, *args, **kwargs)
        response.headers["Cache-Control"] = "private, no-store"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return answer
