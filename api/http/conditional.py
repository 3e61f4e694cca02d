"""Conditional requests (RFC 9110, RFC 6585): strong ETags, 304, 412, 428."""

import hashlib
import json
import re
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.http import parse_etags
from rest_framework.request import Request
from rest_framework.response import Response

from api.http.kinds import PreconditionRequired
from inventory.problems import Invalid, Stale

_TAG = re.compile(r'"([0-9]{1,10})-[0-9a-f]{12}"')
_LIST = re.compile(r'\s*(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"\s*(?:,\s*(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"\s*)*')


def etag(version: int, representation: Any) -> str:
    """A strong ETag: the row's version, and a digest of what is shown (rounding, units, who looks, joined names)."""
    text = json.dumps(representation, sort_keys=True, default=str, separators=(",", ":"))
    return f'"{version}-{hashlib.sha256(text.encode()).hexdigest()[:12]}"'


def matched_version(request: HttpRequest | Request, current: int) -> int:
    """The version that If-Match names, to be compared again by the service under its lock.

    Raises PreconditionRequired (428) without If-Match, Invalid (400) where it is no list of entity tags,
    Stale (412) where none of them is of the current version. `*` matches whatever is there.
    """
    header = request.headers.get("If-Match", "").strip()
    if not header:
        raise PreconditionRequired("send the ETag that you read as If-Match")
    if header == "*":
        return current
    if not _LIST.fullmatch(header):
        raise Invalid("If-Match: not a list of entity tags")
    # A weak tag (W/"...") never matches: comparison is strong.
    versions = {int(found[1]) for tag in parse_etags(header) if (found := _TAG.fullmatch(tag))}
    if current not in versions:
        raise Stale(f"it is now version {current}")
    return current


require_match = matched_version


def answer(request: HttpRequest | Request, version: int, data: Mapping[str, Any], *, status: int = 200) -> HttpResponse:
    """The representation with its ETag; 304 without body where If-None-Match names it (GET, HEAD)."""
    tag = etag(version, data)
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if request.method in ("GET", "HEAD") and none_match(request, tag):
        return HttpResponse(status=304, headers=headers)
    return Response(data, status=status, headers=headers)


def none_match(request: HttpRequest | Request, tag: str) -> bool:
    """Whether If-None-Match names a tag: who asks has it already."""
    header = request.headers.get("If-None-Match", "").strip()
    return header == "*" or tag in {found.removeprefix("W/") for found in parse_etags(header)}
