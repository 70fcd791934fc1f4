"""A call's signature against the sample of the Standard Webhooks specification (from memory)."""

import base64

from api.webhooks import signing

SECRET = "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def test_the_specification_s_sample_is_signed_as_it_says() -> None:
    signature = signing.sign(
        base64.b64decode(SECRET),
        call_id="msg_p5jXN8AQM9LWM0D4loKWxJek",
        at=1614265330,
        body='{"test": 2432232314}',
    )
    assert signature == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_a_secret_is_shown_as_the_specification_says() -> None:
    assert signing.shown(base64.b64decode(SECRET)) == f"whsec_{SECRET}"
