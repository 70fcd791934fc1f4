"""A test certificate that a fill station can check without asking anybody (RFC 7515, RFC 8037).

It says what a lab recorded on one day, signed by the shop. It proves that nobody changed it since;
it does not prove today's state: a cylinder can be condemned the day after, and a check without a
network cannot know. So what it shows always says "as recorded", never "fit".
"""

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from joserfc import jws
from joserfc.errors import JoseError

from api import signing_keys
from cylinders.history import canonical
from cylinders.models import RecordState, TestRecord
from cylinders.rules import judgement
from cylinders.rules.quantity import as_json
from cylinders.rules.refusal import Refused

ALGORITHM = "Ed25519"
_VERSION = 1
_LONGEST = 4_096


@dataclass(frozen=True, slots=True)
class Checked:
    """A certificate whose signature is good: what it says, and the name of the key."""

    claims: dict[str, Any]
    kid: str


def sign(record: TestRecord, *, at: dt.datetime) -> str:
    """The certificate of a test that passed and counts; the same for the same record and key.

    ``at`` only dates a first key. Raises :class:`Refused` for any other record.
    """
    if record.state != RecordState.ATTACHED or record.verdict != "passed":
        raise Refused(
            "no_certificate", _("Only a test that passed, and that counts, is certified.")
        )
    key = signing_keys.current(at=at)
    header = {"alg": ALGORITHM, "kid": key.kid}
    return jws.serialize_compact(header, canonical(claims_of(record)), key, algorithms=[ALGORITHM])


def claims_of(record: TestRecord) -> dict[str, Any]:
    """What is certified; no owner, no place, no person."""
    body = judgement.parse(judgement.loads(record.body))
    cylinder = record.cylinder
    answer = record.answer
    return {
        "v": _VERSION,
        "iss": settings.PUBLIC_URL,
        "iat": int(record.received_at.timestamp()),
        "mark": f"{cylinder.authority}-{cylinder.specification}".strip("-"),
        "pressure": as_json(cylinder.pressure),
        "serial": cylinder.serial,
        "maker": cylinder.manufacturer_mark,
        "date": record.tested_on.isoformat(),
        "method": body.method,
        "rin": record.lab.rin,
        "record": record.lab_reference,
        "test_pressure": as_json(body.test_pressure),
        "total": as_json(body.total_expansion),
        "permanent": as_json(body.permanent_expansion),
        "percent": answer["percent_permanent"],
        "verdict": record.verdict,
        "next_due": answer["next_due"],
    }


def check(text: str) -> Checked:
    """Check a certificate; raises :class:`Refused` with what is wrong with it."""
    token = "".join(text.split())
    if not token or len(token) > _LONGEST:
        raise Refused("not_a_certificate", _("This is no certificate. Copy all of it."))
    try:
        kid = str(jws.extract_compact(token.encode()).headers().get("kid", ""))
        key = signing_keys.find(kid)
        if key is None:
            says = _("This was not signed by a key of this shop. Do not use it.")
            raise Refused("unknown_key", says)
        payload = jws.deserialize_compact(token, key, algorithms=[ALGORITHM]).payload
        claims = json.loads(payload)
    except (JoseError, ValueError) as problem:
        says = _("It was changed after it was signed, or not all of it was copied. Do not use it.")
        raise Refused("not_genuine", says) from problem
    return Checked(claims, kid)
