"""What search engines are told: the prefixes of secret addresses, never an address."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

PRIVATE = ("/s/", "/u/", "/bench/", "/lab/", "/admin/", "/api/")


@require_safe
def robots(_request: HttpRequest) -> HttpResponse:
    """Answer with robots.txt (RFC 9309)."""
    lines = ["User-agent: *", *(f"Disallow: {prefix}" for prefix in PRIVATE), ""]
    return HttpResponse("\n".join(lines), content_type="text/plain; charset=utf-8")
