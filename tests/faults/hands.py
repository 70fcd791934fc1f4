"""A technician at a real server: signed in, presses one button after the other."""

import http.client
import itertools
import time
from dataclasses import dataclass, field
from urllib.parse import urlencode

BUSY = 503
_TOKEN = "t" * 32
_NUMBERS = itertools.count(1)


@dataclass
class Hands:
    """One browser without pictures; keeps its connection as a browser does.

    Sent away by a busy server, it comes again when it was told to, at most ``comes_again`` times.
    """

    port: int
    name: str
    session: str
    patience: float = 30.0
    comes_again: int = 0
    sent_away: int = 0
    _line: http.client.HTTPConnection | None = field(default=None, repr=False)

    def press(self, path: str, once: str = "", **fields: str) -> tuple[int, str]:
        """Send a form; returns the status and where the answer leads. Raises ``OSError``."""
        once = once or f"{self.name}-{next(_NUMBERS)}"
        sent = {"csrfmiddlewaretoken": _TOKEN, "once": once, **fields}
        line = self._line or http.client.HTTPConnection("127.0.0.1", self.port, self.patience)
        self._line = line
        try:
            line.request("POST", path, urlencode(sent), self._headers())
            answer = line.getresponse()
            answer.read()
        except (OSError, http.client.HTTPException) as fault:
            self.close()
            raise ConnectionError(str(fault)) from fault
        if answer.status == BUSY and self.sent_away < self.comes_again:
            self.sent_away += 1
            self.close()  # the server ends a connection on which nobody speaks for that long
            time.sleep(float(answer.headers["Retry-After"]))
            return self.press(path, once, **fields)
        return answer.status, answer.headers.get("Location", "")

    def close(self) -> None:
        """Leave."""
        if self._line:
            self._line.close()
        self._line = None

    def _headers(self) -> dict[str, str]:
        return {
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": f"session={self.session}; csrf={_TOKEN}",
            "Referer": f"http://127.0.0.1:{self.port}/",
        }
