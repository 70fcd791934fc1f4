"""What gunicorn is told beyond its command line (``--config python:api.web_server``).

An address that is far too long is answered by the service, with a problem document like any other
mistake of a lab's program. Left alone, gunicorn answers it with a page of its own at 4,094 bytes
and can be raised to 8,190 at most; without any limit one line could fill the memory.
"""

from gunicorn.http import message  # type: ignore[import-untyped] # it has no types

LONGEST = 64 * 1024  # bytes of one request line
message.MAX_REQUEST_LINE = LONGEST
limit_request_line = LONGEST
