"""How a call is signed: the Standard Webhooks scheme, HMAC-SHA256 over id, time and body.

The secret of an address is made from the service's secret key and the row's salt, so the database
does not hold it. While the secret key is being changed, each call carries one signature for each
key that still counts; the receiver takes any.

>>> sign(b"0" * 32, call_id="call_1", at=1_700_000_000, body="{}")
'v1,bopeUqmJMYSwvH+gF/ZUuH1GexYgd471thuB+o5jBUY='
"""

import base64
import hashlib
import hmac
import secrets

from django.conf import settings

_PREFIX = "whsec_"


def new_salt() -> str:
    """A fresh salt of 256 bits."""
    return secrets.token_urlsafe(32)


def secrets_of(salt: str) -> list[bytes]:
    """The signing secrets of an address, 32 bytes each: the one that is shown, then older ones."""
    keys = (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)
    message = f"webhook {salt}".encode()
    return [hmac.new(key.encode(), message, hashlib.sha256).digest() for key in keys]


def shown(secret: bytes) -> str:
    """The secret as its receiver is given it: ``whsec_`` and base64."""
    return _PREFIX + base64.b64encode(secret).decode()


def sign(secret: bytes, *, call_id: str, at: int, body: str) -> str:
    """The signature of one call; ``at`` in whole seconds of Unix time."""
    signed = f"{call_id}.{at}.{body}".encode()
    return "v1," + base64.b64encode(hmac.new(secret, signed, hashlib.sha256).digest()).decode()
