"""Django settings: one file for every place it runs; what differs comes from the environment (deploy/env.defaults)."""

import os
from datetime import timedelta
from pathlib import Path

from whitenoise.compress import Compressor

from deploy import logs
from deploy.env import broker_url, database, load, required

# Before numpy is loaded. Each process does one thing at a time and several share the cores: the threads of a large
# section would mostly wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

env = load()
ROOT = Path(__file__).resolve().parent.parent

SECRET_KEY = required(env, "SECRET_KEY")
DEBUG = env.bool("DEBUG")
ALLOWED_HOSTS: list[str] = env.list("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS: list[str] = env.list("CSRF_TRUSTED_ORIGINS", default=[])
HTTPS = env.bool("HTTPS")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.gis",
    "django.contrib.postgres",
    "pgtrigger",
    "pghistory",
    "rest_framework",
    "knox",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_structlog",
    "inventory.people",
    "inventory",
    "assessments",
    "assessments.works",
    "workers",
    "api",
    "deploy",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "api.http.headers.SecurityHeaders",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_structlog.middlewares.RequestMiddleware",
    "api.http.wake.WakeDrain",
]

ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "api" / "pages" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "api.pages.context.city",
            ],
            "libraries": {"pages": "api.pages.tags"},
        },
    }
]

# Two roles from the first migration: `owner` migrates, `app` runs and owns nothing.
APP_DATABASE = database(required(env, "DATABASE_URL"), "DATABASE_URL")
APP_ROLE = str(APP_DATABASE["USER"])
DB_ROLE = os.environ.get("DB_ROLE", "app")
AS_OWNER = DB_ROLE == "owner"
_chosen = database(required(env, "DATABASE_OWNER_URL"), "DATABASE_OWNER_URL") if AS_OWNER else APP_DATABASE
# A page or a request of the interface that asks too much is broken off; passes, loads and commands are not.
_timeout = env.int("STATEMENT_TIMEOUT_MS") if os.environ.get("BOLEWARD_SERVES") == "web" else 0
if _timeout:
    _options = dict(_chosen["OPTIONS"])  # type: ignore[call-overload]
    _chosen = {**_chosen, "OPTIONS": {**_options, "options": f"-c statement_timeout={_timeout}"}}
DATABASES = {
    "default": {
        **_chosen,
        "CONN_MAX_AGE": 600,
        "CONN_HEALTH_CHECKS": True,
        "TEST": {
            "TEMPLATE": "boleward_template",
            "NAME": f"test_boleward{os.environ.get('PYTEST_DB_SUFFIX', '')}",
        },
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
METRIC_SRID = env.int("METRIC_SRID")

AUTH_USER_MODEL = "people.User"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.ScryptPasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
CSRF_FAILURE_VIEW = "api.http.errors.csrf"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

CITY = {
    "name": env.str("CITY_NAME"),
    "time_zone": env.str("CITY_TIME_ZONE"),
    "currency": env.str("CITY_CURRENCY"),
    "language": env.str("CITY_LANGUAGE"),
    "emergency_phone": env.str("CITY_EMERGENCY_PHONE"),
    "duty_email": env.str("CITY_DUTY_EMAIL", ""),
}
LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = ROOT / ".data" / "static"
STATICFILES_DIRS = [ROOT / "api" / "pages" / "static"]
LISTEN = env.str("LISTEN")
DATA_DIR = ROOT / env.str("DATA_DIR")
MEDIA_ROOT = DATA_DIR
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
# Pages name hashed files only, and source maps are read by developers: compressing either takes most of a start.
WHITENOISE_KEEP_ONLY_HASHED_FILES = True
WHITENOISE_SKIP_COMPRESS_EXTENSIONS = (*Compressor.SKIP_COMPRESS_EXTENSIONS, "map")
UPLOAD_MAX_BYTES = env.int("UPLOAD_MAX_MIB") * 1024 * 1024
DATA_UPLOAD_MAX_MEMORY_SIZE = 4 * 1024 * 1024
# The form of a mapping has three fields a column, and two for each word of a condition.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

REDIS_URL = required(env, "REDIS_URL")
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": REDIS_URL,
        "KEY_PREFIX": "boleward",
        "TIMEOUT": 300,
    }
}

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 12 * 3600
SECURE_HSTS_SECONDS = 31536000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SILENCED_SYSTEM_CHECKS = [
    # GDAL 3.6 cannot block files and network in spatial references: no user text ever reaches it,
    # only integers from the allow-list in inventory/geo/crs.py.
    "gis.W001",
    *([] if HTTPS else ["security.W004", "security.W008", "security.W012", "security.W016"]),
]

EMAIL = env.dj_email_url("EMAIL_URL")
EMAIL_BACKEND = EMAIL["EMAIL_BACKEND"]
EMAIL_HOST = EMAIL["EMAIL_HOST"]
EMAIL_PORT = EMAIL["EMAIL_PORT"]
EMAIL_HOST_USER = EMAIL["EMAIL_HOST_USER"]
EMAIL_HOST_PASSWORD = EMAIL["EMAIL_HOST_PASSWORD"]
EMAIL_USE_TLS = EMAIL["EMAIL_USE_TLS"]
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM")

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.http.tokens.BearerToken",
        "rest_framework.authentication.SessionAuthentication",
    ],
    # Deny unless allowed: a view without a permission of its own answers nobody.
    "DEFAULT_PERMISSION_CLASSES": ["api.http.permissions.DenyAll"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["api.http.parsers.StrictJSON"],
    "URL_FORMAT_OVERRIDE": None,
    "DEFAULT_SCHEMA_CLASS": "api.http.openapi.Schema",
    "DEFAULT_THROTTLE_CLASSES": [
        "rest_framework.throttling.AnonRateThrottle",
        "rest_framework.throttling.UserRateThrottle",
    ],
    "DEFAULT_THROTTLE_RATES": {
        "anon": f"{env.int('THROTTLE_ANON')}/min",
        "user": f"{env.int('THROTTLE_USER')}/min",
        "sign-in": f"{env.int('THROTTLE_SIGN_IN')}/min",
    },
    # Whose address a request comes from: a client writes what it likes into X-Forwarded-For.
    "NUM_PROXIES": env.int("TRUSTED_PROXIES"),
    "EXCEPTION_HANDLER": "api.http.problem.handle",
    "COERCE_DECIMAL_TO_STRING": False,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
REST_KNOX = {
    "TOKEN_TTL": timedelta(days=90),
    "AUTH_HEADER_PREFIX": "Bearer",
    "TOKEN_LIMIT_PER_USER": 20,
    "AUTO_REFRESH": False,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Boleward",
    "VERSION": "1",
    "DESCRIPTION": (
        "Municipal urban-forest inventory: trees, inspections, risk, due dates and work orders. "
        "Every likelihood, rating and date is advice to a qualified person, never a verdict that a tree is safe; "
        "local codes and licensed practice come first."
    ),
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SCHEMA_PATH_PREFIX": r"/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "POSTPROCESSING_HOOKS": [
        "api.http.openapi.add_problems",
        "api.http.openapi.plain_nulls",
    ],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
}

PGHISTORY_INSTALL_CONTEXT_FUNC_ON_MIGRATE = False

DJANGO_STRUCTLOG_CELERY_ENABLED = True
LOGGING = logs.configure(env.log_level("LOG_LEVEL"))

CELERY_BROKER_URL = broker_url(REDIS_URL)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_TRANSPORT_OPTIONS = {"visibility_timeout": 4 * 3600, "socket_timeout": 5}
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_MAX_MEMORY_PER_CHILD = 400 * 1024  # KiB: a child that grew larger is replaced after its task
CELERY_TIMEZONE = CITY["time_zone"]
