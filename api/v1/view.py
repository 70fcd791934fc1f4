"""What all views of the interface share: key, scope, throttle, JSON only, problems as answers."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from django.conf import settings
from django.http import HttpResponseBase
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import BasePermission
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle, SimpleRateThrottle
from rest_framework.views import APIView

from api.problems import Problem
from api.v1 import errors
from api.v1.authentication import ByLabKey, Caller, caller_of


class PerKey(SimpleRateThrottle):
    """So many requests a minute for each key; the answer says how long to wait."""

    scope = "lab"

    def get_rate(self) -> str:
        """The figure of the settings."""
        return f"{settings.LAB_REQUESTS_PER_MINUTE}/min"

    def get_cache_key(self, request: Request, _view: APIView) -> str | None:
        """Count by key; a request without one was turned away before."""
        if not isinstance(request.user, Caller):
            return None
        return f"throttle-lab-{request.user.key.pk}"


class Scoped(BasePermission):
    """Let a key do only what it was made for: the view names a scope for each method."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Pass, or raise :class:`Problem`: 401 without a key, 403 without the scope."""
        method = "GET" if request.method == "HEAD" else request.method or ""
        caller_of(request).must_have(getattr(view, "scopes", {}).get(method))
        return True


class LabView(APIView):
    """One resource; ``scopes`` names what a key needs for each method."""

    scopes: ClassVar[Mapping[str, str]] = {}
    authentication_classes: Sequence[type[BaseAuthentication]] = (ByLabKey,)
    permission_classes: Sequence[type[BasePermission]] = (Scoped,)
    throttle_classes: Sequence[type[BaseThrottle]] = (PerKey,)
    renderer_classes: Sequence[type[BaseRenderer]] = (JSONRenderer,)
    parser_classes = ()
    http_method_names = ("get", "head", "post", "put")

    def get_exception_handler(self) -> Callable[[Exception, dict[str, Any]], HttpResponseBase]:
        """Answer with problem documents."""
        return errors.handle


class OpenView(LabView):
    """A resource for anybody: it tells nothing about a lab."""

    authentication_classes: Sequence[type[BaseAuthentication]] = ()
    permission_classes: Sequence[type[BasePermission]] = ()
    throttle_classes: Sequence[type[BaseThrottle]] = ()


class Nothing(OpenView):
    """Every address that is none: a problem document instead of a page."""

    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Answer 404 whatever the method."""
        super().initial(request, *args, **kwargs)
        raise Problem("not_found", "There is nothing at this address. See /api/v1/schema.")
