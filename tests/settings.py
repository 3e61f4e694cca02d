"""Settings of the test suite: the real ones, as the owner role, with quick password hashing and plain static files."""

import os

os.environ["DB_ROLE"] = "owner"

from deploy.settings import *  # noqa: F403
from deploy.settings import CACHES, REST_FRAMEWORK

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Each test process has a cache of its own, so that none reads what another one wrote.
CACHES = {"default": {**CACHES["default"], "BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
REST_FRAMEWORK = {
    **REST_FRAMEWORK,
    # None switches a rate off.
    "DEFAULT_THROTTLE_RATES": {"anon": None, "user": None, "sign-in": "1000/min"},  # type: ignore[dict-item]
}
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
# Static files are not collected for the tests: nothing is looked for at start.
WHITENOISE_AUTOREFRESH = True
