"""A process that sweeps once, as if it were the moment in its first argument; to be killed."""

import datetime as dt
import os
import sys
import time
from collections.abc import Sequence

import django
from django.conf import settings
from django.core.mail import EmailMessage

from tests import mail_server


def main() -> None:
    django.setup()
    mail_server.use(settings, mail_server.SLOW)

    from cylinders.operations.reminders import sweep  # noqa: PLC0415 - Django is set up above
    from tests.post_office import plain_writer  # noqa: PLC0415 - the same

    sys.stdout.write("ready\n")
    sys.stdout.flush()
    sys.stdin.readline()
    sweep(now=dt.datetime.fromisoformat(sys.argv[1]), write=plain_writer)


class SlowBackend:
    """Hands on to the file, with a pause before and after, so that a kill meets every moment."""

    def __init__(self, **_: object) -> None:
        self.pause = float(os.environ["TEST_POST_PAUSE"])

    def open(self) -> None:
        """Nothing to open."""

    def close(self) -> None:
        """Nothing to close."""

    def send_messages(self, messages: Sequence[EmailMessage]) -> int:
        """Take the messages slowly."""
        from tests.post_office import FileBackend  # noqa: PLC0415 - Django must be set up first

        time.sleep(self.pause)
        count = FileBackend().send_messages(messages)
        time.sleep(self.pause)
        return count


if __name__ == "__main__":
    main()
