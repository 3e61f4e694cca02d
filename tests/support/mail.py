"""A mail server that is away."""

from collections.abc import Sequence

from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class Broken(BaseEmailBackend):
    """Fails to send."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Raise ConnectionError."""
        raise ConnectionError("no mail server")
