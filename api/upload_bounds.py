"""How much of a form's files is kept while it arrives: the rest is read and dropped.

Django bounds the fields of a form, but not its files. A file that is too large is cut here, larger
than any page takes, so that the page that gets it refuses it by its size and by its name, and what
else stood in the form is not lost.
"""

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler

MEGABYTE = 1024 * 1024
#: More than any page takes of one file.
MOST_OF_A_FILE = 16 * MEGABYTE
#: Reached only by more files than any page takes.
MOST_OF_A_FORM = 200 * MEGABYTE


class Bounded(FileUploadHandler):
    """Passes the chunks of a file on until it, or the form, is too large."""

    kept_of_form = 0
    kept_of_file = 0

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Begin to count a file."""
        super().new_file(*args, **kwargs)
        self.kept_of_file = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:  # noqa: ARG002 - the handlers' own signature
        """Pass a chunk on, or drop it."""
        if self.kept_of_file > MOST_OF_A_FILE or self.kept_of_form > MOST_OF_A_FORM:
            return None
        self.kept_of_file += len(raw_data)
        self.kept_of_form += len(raw_data)
        return raw_data

    def file_complete(self, file_size: int) -> None:
        """Leave it to the next handler to make the file."""
