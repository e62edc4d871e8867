"""Settings, read once from the environment; safe by default.

Every variable is listed in README.md. ``LEDGERBOARD_DEMO=1`` is the only mode that runs without a secret
key of its own; it is what ``manage.py demo`` and the tests set.
"""

from datetime import timedelta
from pathlib import Path
from typing import Any

import django_stubs_ext
from csp.constants import NONE, SELF
from django.utils.translation import gettext_lazy as _
from environs import Env

# Lets forms and managers name their model in a type, as in ModelForm[Customer].
django_stubs_ext.monkeypatch()

env = Env()
BASE_DIR = Path(__file__).resolve().parent.parent
DEMO = env.bool("LEDGERBOARD_DEMO", False)
VAR_DIR = Path(env.str("LEDGERBOARD_VAR", str(BASE_DIR / "var")))
# The database file, the queue, the scheduler's notes and the documents live here, as far as no variable
# sends them elsewhere.
VAR_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = env.bool("DEBUG", False)
# The demo's key is public, so it protects nothing but a demonstration on the reader's own machine.
SECRET_KEY = env.str(
    "SECRET_KEY", "only-for-the-demonstration-never-for-real-work" if DEMO else env.str("SECRET_KEY")
)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS: list[str] = env.list("CSRF_TRUSTED_ORIGINS", [])

INSTALLED_APPS = [
    "contracting.staff",
    "contracting.customers",
    "contracting.documents",
    "estimates.rooms",
    "estimates.pricelists",
    "estimates.stock",
    "estimates.practice",
    "estimates.quotes",
    "jobs.work",
    "jobs.photos",
    "jobs.inspections",
    "jobs.punchlist",
    "jobs.warranty",
    "jobs.schedule",
    "jobs.crew",
    "jobs.billing",
    "jobs.margins",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "django.contrib.staticfiles",
    "axes",
    "crispy_forms",
    "csp",
    "django_htmx",
    "template_partials",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "contracting.middleware.PlainAddressMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "contracting.staff.middleware.PersonLanguageMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "contracting.staff.middleware.PolicyMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "contracting.urls"
WSGI_APPLICATION = "contracting.wsgi.application"

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
                "contracting.staff.context.company",
            ],
        },
    },
]

DATABASES = {"default": env.dj_db_url("DATABASE_URL", f"sqlite:///{VAR_DIR / 'ledgerboard.sqlite3'}")}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Without IMMEDIATE a read-then-write transaction fails at once when another writer is busy; with it the
    # second writer waits its turn.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "staff.User"
LOGIN_URL = "staff:sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "staff:sign-in"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
# Somebody who guesses at one account from one address has to wait; the account's owner elsewhere does not.
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "staff/locked.html"
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

LANGUAGE_CODE = "en-us"
LANGUAGES = [("en", _("English")), ("es", _("Spanish"))]
LOCALE_PATHS = [BASE_DIR / "contracting" / "locale"]
FORMAT_MODULE_PATH = "contracting.formats"
TIME_ZONE = env.str("TIME_ZONE", "America/Chicago")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = Path(env.str("STATIC_ROOT", str(VAR_DIR / "staticfiles")))
STATICFILES_DIRS = [BASE_DIR / "contracting" / "static"]
# In the demo files are found where they stand, so that no collectstatic is needed.
WHITENOISE_USE_FINDERS = DEMO
if DEMO:
    STATIC_ROOT.mkdir(parents=True, exist_ok=True)
MEDIA_ROOT = Path(env.str("MEDIA_ROOT", str(VAR_DIR / "media")))
# What warranty records are signed with: never in the checkout's history, the database or the media.
SIGNING_KEY_DIR = Path(env.str("SIGNING_KEY_DIR", str(VAR_DIR / "keys")))
# Documents and photos: on disk, or in any S3-compatible store. Everything is handed out by us and nothing by
# the store, so its bucket stays private and the pages' policy needs no other host.
S3_BUCKET = env.str("S3_BUCKET", "")
_file_store: dict[str, Any] = {"BACKEND": "django.core.files.storage.FileSystemStorage"}
if S3_BUCKET:
    _file_store = {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": S3_BUCKET,
            "endpoint_url": env.str("S3_ENDPOINT", "") or None,
            "region_name": env.str("S3_REGION", "") or None,
            "access_key": env.str("S3_ACCESS_KEY", "") or None,
            "secret_key": env.str("S3_SECRET_KEY", "") or None,
            "location": env.str("S3_FOLDER", ""),
            # As on disk: a name that is taken is not written over.
            "file_overwrite": False,
            "default_acl": None,
            "querystring_expire": 300,
        },
    }
STORAGES = {
    "default": _file_store,
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEMO or DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

# Photos: the largest file and picture that are taken, and how long an upload that stopped is kept.
PHOTO_MAX_BYTES = env.int("PHOTO_MAX_MEGABYTES", 40) * 1_000_000
PHOTO_MAX_PIXELS = env.int("PHOTO_MAX_MEGAPIXELS", 50) * 1_000_000
PHOTO_UPLOAD_DAYS = env.int("PHOTO_UPLOAD_DAYS", 14)

CRISPY_ALLOWED_TEMPLATE_PACKS = ["sheet"]
CRISPY_TEMPLATE_PACK = "sheet"

# Behind TLS everything is refused over plain HTTP; the demo on localhost has no TLS.
BEHIND_TLS = env.bool("BEHIND_TLS", not DEMO)
SECURE_SSL_REDIRECT = BEHIND_TLS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", False) else None
# The health check comes from the same machine, without TLS.
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
SECURE_HSTS_SECONDS = int(timedelta(days=365).total_seconds()) if BEHIND_TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = BEHIND_TLS
SECURE_HSTS_PRELOAD = BEHIND_TLS
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = BEHIND_TLS
SESSION_COOKIE_HTTPONLY = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "style-src": [SELF],
        "script-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

# The broker is only a nudge: what must be rendered stands in the database (contracting.documents), and the
# sweep finds it again when a message or a worker is lost.
CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", "filesystem://")
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, str | float]
if CELERY_BROKER_URL.startswith("filesystem"):
    _queue = VAR_DIR / "queue"
    for folder in ("messages", "processed"):
        (_queue / folder).mkdir(parents=True, exist_ok=True)
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(_queue / "messages"),
        "data_folder_out": str(_queue / "messages"),
        "processed_folder": str(_queue / "processed"),
        "control_folder": str(_queue / "control"),
        # Looked at this often, in seconds, so that nobody waits for a whole second before a render begins.
        "polling_interval": 0.25,
    }
else:
    # A broker that is away must not hold a web request up: the sweep finds the row.
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "socket_connect_timeout": 2,
        "socket_timeout": 30,
        # Longer than the longest task, so that none runs twice; and looked at often enough, since the
        # transport's own habit is every hundred seconds.
        "visibility_timeout": 300,
        "unacked_restore_interval": 5,
        "unacked_restore_throttle": 1,
    }
CELERY_TASK_PUBLISH_RETRY = False
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_TIME_LIMIT = 120
CELERY_TASK_SOFT_TIME_LIMIT = 100
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_MAX_TASKS_PER_CHILD = 200
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = TIME_ZONE
CELERY_BEAT_SCHEDULE = {
    "documents-sweep": {"task": "documents.sweep", "schedule": timedelta(minutes=1)},
    "photos-sweep": {"task": "photos.sweep", "schedule": timedelta(minutes=10)},
    "quotes-expire": {"task": "quotes.expire", "schedule": timedelta(hours=1)},
}
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "beat-schedule")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname:<7} {name}: {message}", "style": "{"}},
    "filters": {"private_links": {"()": "contracting.private_links.MaskPrivateLinks"}},
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["private_links"]}
    },
    "root": {"handlers": ["stderr"], "level": env.str("LOG_LEVEL", "INFO")},
    "loggers": {
        # Django's own handlers would say everything twice, or only with DEBUG.
        "django": {"handlers": [], "propagate": True},
        "django.server": {"handlers": [], "level": "WARNING", "propagate": True},
        # Every wrong address, every unsigned request and every font table is not news.
        "django.request": {"level": "ERROR"},
        "celery.beat": {"level": "WARNING"},
        "kombu.connection": {"level": "ERROR"},
        "celery.worker.strategy": {"level": "WARNING"},
        "celery.app.trace": {"level": "WARNING"},
        "fontTools": {"level": "WARNING"},
        "weasyprint": {"level": "ERROR"},
        # Says with a traceback that a file somebody sent is not as it was signed; the page says it calmly.
        "pyhanko": {"level": "CRITICAL"},
        "pyhanko_certvalidator": {"level": "CRITICAL"},
        "axes": {"level": "WARNING"},
    },
}
