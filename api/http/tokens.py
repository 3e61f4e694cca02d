"""Bearer tokens: the library's check, hardened against headers that are no token at all."""

import re
from typing import Any

from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

_TOKEN = re.compile(rb"[0-9a-zA-Z_-]{20,200}")


class BearerToken(TokenAuthentication):  # type: ignore[misc]
    """`Authorization: Bearer <token>`."""

    def authenticate_credentials(self, token: bytes) -> Any:
        """Return the user and the token row. Raises AuthenticationFailed (401)."""
        if not _TOKEN.fullmatch(token):
            raise AuthenticationFailed("invalid token")
        return super().authenticate_credentials(token)
