"""Idempotency keys: a repeated POST gets the first answer."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now


class IdempotencyKey(models.Model):
    """The answer to one unsafe request, kept 90 days, written in the same transaction as its effect."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    method = models.TextField()
    path = models.TextField()
    key = models.TextField()
    fingerprint = models.CharField(max_length=64)
    status = models.SmallIntegerField()
    headers = models.JSONField(default=dict)
    body = models.BinaryField()
    made_at = models.DateTimeField(db_default=Now(), db_index=True)

    class Meta:
        db_table = "idempotency_key"
        constraints = [models.UniqueConstraint(fields=["user", "method", "path", "key"], name="idempotency_key_once")]

    def __str__(self) -> str:
        return f"{self.method} {self.path} {self.key}"
