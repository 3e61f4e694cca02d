"""Answers that are files to be saved."""

from collections.abc import Iterable

from django.http import StreamingHttpResponse


def stream(name: str, pieces: Iterable[bytes], media_type: str) -> StreamingHttpResponse:
    """A file made piece by piece, to be saved under a name of ours."""
    response = StreamingHttpResponse(pieces, content_type=media_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
