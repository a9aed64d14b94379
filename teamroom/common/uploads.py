"""A limit to what is sent as a file: what is beyond it is thrown away as it comes, never kept."""

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest

MEBIBYTE = 1024 * 1024
LARGEST_UPLOAD = 32 * MEBIBYTE


class LimitedUpload(FileUploadHandler):
    """Stands before the handlers that keep files. A file beyond the limit is left out of the request, which
    `was_too_large` then tells."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self.seen = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.seen += len(raw_data)
        if self.seen > LARGEST_UPLOAD:
            setattr(self.request, TOO_LARGE, True)
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None


TOO_LARGE = "upload_was_too_large"


def was_too_large(request: HttpRequest) -> bool:
    """Whether a file of this request was left out for its size."""
    return getattr(request, TOO_LARGE, False)
