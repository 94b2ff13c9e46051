"""Settings: everything that differs between places comes from the environment.

DATABASE_URL    the database (unset: an embedded SQLite file under var/)
REDIS_URL       broker and cache (unset: jobs run in this process)
SECRET_KEY      signs sessions and tokens (unset: var/secret_key, which `quickstart` makes)
DEBUG=1         a development server
ALLOWED_HOSTS   host names served, comma-separated (unset: this machine only)
PLAIN_HTTP=1    served without TLS, as on the loopback; otherwise cookies need HTTPS
TAG_ORIGIN      the origin that printed tags lead to (unset: that of the page they are printed from)
VAR_DIR         where the embedded database, uploads and collected static files live (unset: var/)
"""

import os
from pathlib import Path

import dj_database_url
import structlog
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(os.environ.get("VAR_DIR", BASE_DIR / "var"))
VAR_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = os.environ.get("DEBUG") == "1"
PLAIN_HTTP = DEBUG or os.environ.get("PLAIN_HTTP") == "1"

KNOWN_SECRET_KEY = "known-to-everybody-and-refused-in-production"  # noqa: S105  refused by `require_own_secret`
_secret_file = VAR_DIR / "secret_key"
SECRET_KEY = os.environ.get("SECRET_KEY") or (
    _secret_file.read_text().strip() if _secret_file.exists() else KNOWN_SECRET_KEY
)


def require_own_secret() -> None:
    """Refuses to serve on the known secret. Raises ImproperlyConfigured; called by every server's entry."""
    if SECRET_KEY == KNOWN_SECRET_KEY and not DEBUG:
        raise ImproperlyConfigured(
            "SECRET_KEY is the one that stands in the source. Set the environment variable SECRET_KEY to 50 "
            "or more random characters, or DEBUG=1 for a development server."
        )


ALLOWED_HOSTS = [
    host.strip() for host in os.environ.get("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
]
TAG_ORIGIN = os.environ.get("TAG_ORIGIN", "")
CSRF_TRUSTED_ORIGINS = [origin for origin in os.environ.get("CSRF_TRUSTED_ORIGINS", "").split(",") if origin]

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_filters",
    "django_htmx",
    "simple_history",
    "axes",
    "csp",
    "django_prometheus",
    "fleet",
]

MIDDLEWARE = [
    "django_prometheus.middleware.PrometheusBeforeMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
    "django_prometheus.middleware.PrometheusAfterMiddleware",
]

ROOT_URLCONF = "fleet.urls"
WSGI_APPLICATION = "fleet.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fleet.pages.members.reader",
            ]
        },
    }
]

EMBEDDED_DATABASE = f"sqlite:///{VAR_DIR / 'fleet.sqlite3'}"
DATABASES = {"default": dj_database_url.parse(os.environ.get("DATABASE_URL") or EMBEDDED_DATABASE)}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # Writers queue instead of failing, and readers go on while one writes.
    DATABASES["default"]["OPTIONS"] = {
        "timeout": 30,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
else:
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
    DATABASES["default"]["OPTIONS"] = {"pool": {"min_size": 1, "max_size": 8, "timeout": 10}}

REDIS_URL = os.environ.get("REDIS_URL", "")
CELERY_BROKER_URL = REDIS_URL or None
CELERY_TASK_ACKS_LATE = True  # a worker that dies hands its task to the next; tasks may run twice
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_IGNORE_RESULT = True
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
BROKER_ANSWERS_WITHIN = 3.0  # seconds in which it takes a connection; a page waits for that
CELERY_BROKER_TRANSPORT_OPTIONS = {"socket_connect_timeout": BROKER_ANSWERS_WITHIN}
CACHES = {
    "default": {
        "BACKEND": "fleet.caches.DispensableCache",
        "LOCATION": REDIS_URL,
        "OPTIONS": {"socket_connect_timeout": BROKER_ANSWERS_WITHIN, "socket_timeout": BROKER_ANSWERS_WITHIN},
    }
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
}

AUTH_USER_MODEL = "fleet.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_TEMPLATE = "accounts/locked.html"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign_in"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "knox.auth.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "fleet.api.description.Described",
    "EXCEPTION_HANDLER": "fleet.api.errors.answer_error",
}
KNOX_TOKEN_MODEL = "fleet.AccessToken"  # noqa: S105  a model's name
REST_KNOX = {"TOKEN_TTL": None}
# The library's own migrations would make its table beside ours; PostgreSQL then refuses to empty the users'.
MIGRATION_MODULES = {"knox": None}
SPECTACULAR_SETTINGS = {
    "TITLE": "Fleet hoses",
    "DESCRIPTION": "Fleet hose inventory and replacement forecasting service",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "RunState": "fleet.models.RunState",
        "ReadingState": "fleet.models.ReadingState",
        "Likeness": "fleet.api.laylines.VERDICTS",
        "Suitability": ["fits", "not_judged", "unfit"],
        "EndOfHose": ["a", "b"],
        "PlaceOfPart": ["a", "b", "hose"],
    },
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = not PLAIN_HTTP
SECURE_HSTS_SECONDS = 0 if PLAIN_HTTP else 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = not PLAIN_HTTP
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
X_FRAME_OPTIONS = "DENY"

LANGUAGE_CODE = os.environ.get("LANGUAGE_CODE") or "en"
LOCALE_PATHS = [BASE_DIR / "fleet" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
MEDIA_ROOT = VAR_DIR / "media"
DATA_UPLOAD_MAX_MEMORY_SIZE = 20 * 1024 * 1024
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = DEBUG

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "lines": {
            "()": structlog.stdlib.ProcessorFormatter,
            # Plain: a traceback that shows what its variables held takes seconds, and tells secrets.
            "processor": structlog.dev.ConsoleRenderer(
                colors=False, exception_formatter=structlog.dev.plain_traceback
            )
            if DEBUG
            else structlog.processors.JSONRenderer(),
            "foreign_pre_chain": [
                structlog.stdlib.add_log_level,
                structlog.processors.TimeStamper(fmt="iso", utc=True),
            ],
        }
    },
    "filters": {"without_secrets": {"()": "fleet.services.people.secret_addresses.WithoutSecrets"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # Django's own that log the address of a request. A filter holds only at the logger that is written to.
    "loggers": {
        "django.request": {"filters": ["without_secrets"]},
        "django.security.csrf": {"filters": ["without_secrets"]},
        "django.server": {"filters": ["without_secrets"], "handlers": ["console"], "propagate": False},
    },
}
