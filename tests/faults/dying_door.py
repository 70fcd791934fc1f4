"""The web server's door for tests: it dies when a record is committed and not answered yet.

``gunicorn tests.faults.dying_door``: where the service's folder holds a file ``die``, the first
post that stored a record takes that file away and kills every process of the server.
"""

import os
import signal
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from api.wsgi import application as service


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Answer as the service does, or die with the answer in hand."""
    stored: list[bool] = []

    def start(status: str, headers: Any, *more: Any) -> Any:
        stored.append(environ["REQUEST_METHOD"] == "POST" and status.startswith("201"))
        return start_response(status, headers, *more)

    answer = service(environ, start)
    order = Path(os.environ["VAR_DIR"], "die")
    if any(stored) and order.exists():
        order.unlink(missing_ok=True)
        os.killpg(0, signal.SIGKILL)
    return answer
