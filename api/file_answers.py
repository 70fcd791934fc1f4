"""A stored file as an answer: with its own type, never sniffed, never kept by a cache or a proxy.

Only a photo that this service made itself is shown in a page; every other file is a download, since
it came from outside. Whoever calls this has asked whether the reader may have the file.
"""

from django.http import HttpResponse

from cylinders.models import Attachment, FileKind
from cylinders.queries import stored_files

_ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "application/pdf": "pdf",
}
GONE = 410


def answer(attachment: Attachment) -> HttpResponse:
    """The bytes; 410 with a sentence where they were erased, or are not what was stored."""
    file = attachment.file
    if attachment.erased_at:
        return _without("This file was erased.")
    try:
        data = stored_files.read(file)
    except stored_files.FileMissing as missing:
        return _without(f"This file cannot be given: {missing}. Send it again.")
    own = attachment.kind == FileKind.PHOTO and file.media_type == "image/jpeg"
    response = HttpResponse(data, content_type=file.media_type)
    name = f"{attachment.kind}-{attachment.pk}.{_ENDINGS.get(file.media_type, 'bin')}"
    place = "inline" if own else "attachment"
    response.headers["Content-Disposition"] = f'{place}; filename="{name}"'
    return _guarded(response)


def _without(says: str) -> HttpResponse:
    plain = "text/plain; charset=utf-8"
    return _guarded(HttpResponse(f"{says}\n", content_type=plain, status=GONE))


def _guarded(response: HttpResponse) -> HttpResponse:
    """Headers for bytes that nobody but this reader should ever see, and no browser should run."""
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "private, no-store"
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    return response
