"""Who is asking: a lab, by the key in the header ``Authorization: Bearer <prefix>.<secret>``."""

from dataclasses import dataclass

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication
from rest_framework.request import Request

from api import keys
from api.models import LabKey
from api.problems import Problem
from cylinders.facts import Actor
from cylinders.models import Lab
from cylinders.rules.refusal import Refused

CHALLENGE = 'Bearer realm="labs"'


@dataclass(frozen=True, slots=True)
class Caller:
    """The lab behind a request, in the place where the framework keeps a user."""

    key: LabKey
    is_authenticated: bool = True

    @property
    def lab(self) -> Lab:
        """The lab whose key it is."""
        return self.key.lab

    @property
    def actor(self) -> Actor:
        """The lab as the history names it."""
        return Actor("lab", str(self.key.lab_id))

    def must_have(self, scope: str | None) -> None:
        """Raise :class:`Problem` (403) unless the key was made for ``scope`` too."""
        if scope and scope not in self.key.scopes:
            raise Problem("scope_missing", f"This needs a key with the scope {scope}.")


class ByLabKey(BaseAuthentication):
    """Read the key from the header; a key anywhere else is not looked at."""

    def authenticate(self, request: Request) -> tuple[Caller, LabKey] | None:
        """Return the caller, None without a header, or raise :class:`Problem` (401)."""
        header = request.headers.get("Authorization", "")
        if not header:
            return None
        scheme, _blank, text = header.partition(" ")
        challenge = {"WWW-Authenticate": f'{CHALLENGE}, error="invalid_token"'}
        if scheme.lower() != "bearer":
            raise Problem("wrong_key", "Send the key as Bearer.", headers=challenge)
        try:
            key = keys.check(text.strip(), at=timezone.now())
        except Refused as refused:
            raise Problem(refused.code, refused.says, headers=challenge) from refused
        return Caller(key), key

    def authenticate_header(self, _request: Request) -> str:
        """Tell a stranger which scheme to use."""
        return CHALLENGE


def caller_of(request: Request) -> Caller:
    """The lab that asks; views that need a key have one by now."""
    if not isinstance(request.user, Caller):
        raise Problem(
            "not_authenticated",
            "Send the header: Authorization: Bearer <key>.",
            headers={"WWW-Authenticate": CHALLENGE},
        )
    return request.user
