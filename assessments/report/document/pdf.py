"""Paper: HTML into an accessible PDF, the same bytes for the same HTML, and nothing fetched from anywhere."""

from collections.abc import Callable
from typing import Any, Final

from weasyprint import HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

SCHEME: Final = "kept:"
"""The addresses that a document may name; everything else is refused."""
VARIANT: Final = "pdf/ua-1"
DOTS_PER_INCH: Final = 160
JPEG_QUALITY: Final = 80


class _Kept(URLFetcher):  # type: ignore[misc] # the library has no types
    """Answers `kept:NAME` from what the caller holds; a document reaches neither network nor files."""

    def __init__(self, picture: Callable[[str], bytes]) -> None:
        super().__init__(allowed_protocols=("data",), fail_on_errors=True)
        self._picture = picture

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        if url.startswith(SCHEME):
            return URLFetcherResponse(url, self._picture(url.removeprefix(SCHEME)), {"Content-Type": "image/jpeg"})
        return super().fetch(url, headers)


def write(html: str, picture: Callable[[str], bytes]) -> bytes:
    """Turn a document into PDF. `picture(name)` gives the JPEG that `kept:NAME` stands for.

    Tagged, with language and title, as ISO 14289-1 (PDF/UA) asks; identical input gives identical bytes.
    """
    document = HTML(string=html, url_fetcher=_Kept(picture))
    content: bytes = document.write_pdf(
        pdf_variant=VARIANT,
        font_config=FontConfiguration(),
        optimize_images=True,
        jpeg_quality=JPEG_QUALITY,
        dpi=DOTS_PER_INCH,
    )
    return content
