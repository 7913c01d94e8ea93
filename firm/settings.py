"""Every setting, read from the environment with defaults that run on one machine."""

from pathlib import Path
from urllib.parse import urlsplit

import django_stubs_ext
from celery.schedules import crontab, schedule

from firm import env

# Forms and querysets become subscriptable, so that their annotations hold at run time.
django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent
FF_VAR = Path(env.text("FF_VAR", str(BASE_DIR / "var"))).absolute()
FF_VAR.mkdir(mode=0o700, parents=True, exist_ok=True)

DEBUG = env.flag("FF_DEBUG", default=False)
SECRET_KEY = env.secret_key("FF_SECRET_KEY", path=FF_VAR / "secret_key")
FF_HTTPS = env.flag("FF_HTTPS", default=False)
FF_PUBLIC_URL = env.web_address("FF_PUBLIC_URL", default="http://127.0.0.1:8000")
ALLOWED_HOSTS = env.names("FF_ALLOWED_HOSTS", default="localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = [FF_PUBLIC_URL]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "firm",
    "estimating",
    "scheduling",
]
MIDDLEWARE = [
    "firm.middleware.client_address.ClientAddressMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "firm.middleware.csp.ContentSecurityPolicyMiddleware",
    "firm.middleware.private_pages.PrivatePagesMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "firm.middleware.numbers.RowNumberMiddleware",
    "scheduling.middleware.CrewLanguageMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "firm.middleware.private_pages.NoNulMiddleware",
    "firm.middleware.units.UnitsMiddleware",
]
ROOT_URLCONF = "firm.urls"
WSGI_APPLICATION = "firm.wsgi.application"
FORM_RENDERER = "firm.form_renderer.PlainRenderer"
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
            ],
        },
    }
]

# --- Data -----------------------------------------------------------------------------------

DATABASES = {
    "default": env.database("DATABASE_URL")
    or {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": FF_VAR / "db.sqlite3",
        "OPTIONS": {
            # Writers queue at the start of a transaction; Django's default fails half of them.
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            # FULL: an acceptance survives a power cut. Measured: 0.29 ms a commit, NORMAL 0.02 ms.
            "init_command": (
                "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
            ),
        },
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

MEDIA_ROOT = FF_VAR / "media"
# Uploads are private: views hand them out after a permission check, never the web server.
MEDIA_URL = "/no-public-media/"
STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Served from where they lie: no step between changing a file and seeing it.
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 0 if DEBUG else 300

# Better a folder that another disk or machine holds: the same disk dies with what it backs up.
FF_BACKUP_DIR = Path(env.text("FF_BACKUP_DIR", str(FF_VAR / "backups"))).absolute()
FF_BACKUP_KEEP = env.integer("FF_BACKUP_KEEP", default=14, lowest=1, highest=1000)

FF_UPLOAD_MAX_BYTES = 25 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
# Form fields without files; Django does not count files here, forms check those themselves.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
# The largest site that can be measured, 500 legs and as many ground shots, has some 5,000 fields.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 10_000
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

# --- People and their browsers --------------------------------------------------------------

AUTH_USER_MODEL = "firm.User"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_SECURE = FF_HTTPS
CSRF_COOKIE_SECURE = FF_HTTPS
CSRF_COOKIE_HTTPONLY = True
SECURE_SSL_REDIRECT = FF_HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if FF_HTTPS else 0
# W005, W021: what else a firm runs beside this host, and browsers' preload lists, are its own
# affair.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
# Links to proposals are secrets: their address goes to no other site.
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Only behind a proxy that sets these headers itself; anyone else could forge them.
FF_TRUST_PROXY = env.flag("FF_TRUST_PROXY", default=False)
if FF_TRUST_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CONTENT_SECURITY_POLICY = {
    "default-src": "'self'",
    "img-src": "'self' data:",
    "object-src": "'none'",
    "base-uri": "'none'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "report-uri": "/csp-report",
}

LANGUAGE_CODE = "en-us"
TIME_ZONE = env.time_zone("FF_TIME_ZONE", default="America/New_York")
USE_TZ = True
USE_I18N = True
LOCALE_PATHS = [BASE_DIR / "locale"]

# --- Mail -----------------------------------------------------------------------------------

EMAIL_HOST = env.text("FF_EMAIL_HOST")
EMAIL_PORT = env.integer("FF_EMAIL_PORT", default=587, lowest=1, highest=65535)
EMAIL_HOST_USER = env.text("FF_EMAIL_USER")
EMAIL_HOST_PASSWORD = env.text("FF_EMAIL_PASSWORD")
EMAIL_USE_TLS = env.flag("FF_EMAIL_TLS", default=True)
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.text("FF_EMAIL_FROM", f"office@{urlsplit(FF_PUBLIC_URL).hostname}")
SERVER_EMAIL = DEFAULT_FROM_EMAIL
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if EMAIL_HOST
    else "django.core.mail.backends.filebased.EmailBackend"
)
EMAIL_FILE_PATH = FF_VAR / "mail"

# --- Background jobs ------------------------------------------------------------------------

# True runs a job in the process that queued it, after its transaction: for tests.
FF_JOBS_INLINE = False
FF_QUEUE_DIR = FF_VAR / "queue"
CELERY_BROKER_URL = env.text("CELERY_BROKER_URL", "filesystem://localhost")
if CELERY_BROKER_URL.startswith("filesystem:"):
    (FF_QUEUE_DIR / "control").mkdir(mode=0o700, parents=True, exist_ok=True)
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(FF_QUEUE_DIR),
        "data_folder_out": str(FF_QUEUE_DIR),
        "control_folder": str(FF_QUEUE_DIR / "control"),
        "polling_interval": 0.2,
    }
elif CELERY_BROKER_URL.startswith(("redis://", "rediss://")):
    # Longer than the longest job, or a job still running is handed out a second time.
    CELERY_BROKER_TRANSPORT_OPTIONS = {"visibility_timeout": 1800, "unacked_restore_interval": 5}
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = TIME_ZONE
CELERY_BEAT_SCHEDULE_FILENAME = str(FF_VAR / "beat-schedule")
FF_SWEEP_EVERY_S = 5
CELERY_BEAT_SCHEDULE = {
    "sweep": {
        "task": "firm.tasks.sweep_jobs",
        "schedule": schedule(FF_SWEEP_EVERY_S),
        # A sweep that waited longer than the next one is of no use.
        "options": {"expires": FF_SWEEP_EVERY_S},
    },
    # Only for lists and the record: an expired proposal can't be accepted, swept or not.
    "expire": {
        "task": "estimating.tasks.expire_proposals",
        "schedule": crontab(hour=0, minute=10),
    },
    # A machine that is off at night makes it when it is switched on: Celery keeps the last time.
    "backup": {
        "task": "firm.tasks.back_up",
        "schedule": crontab(hour=3, minute=20),
    },
}

# --- Logs -----------------------------------------------------------------------------------

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"},
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "INFO"},
    "loggers": {
        "django": {"handlers": ["console"], "level": "INFO", "propagate": False},
        "django.server": {"level": "WARNING"},
        "fontTools": {"level": "WARNING"},
        "weasyprint": {"level": "WARNING"},
        "celery": {"level": "WARNING"},
    },
}
