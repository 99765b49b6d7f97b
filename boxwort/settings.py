"""Settings, all from environment variables with defaults that are safe for one machine.

``DEVELOPERS.md`` lists the variables. ``BOXWORT_PUBLIC=yes`` turns on everything a site behind
HTTPS needs; without it the site is meant for 127.0.0.1.
"""

from __future__ import annotations

from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from boxwort import environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.folder("BOXWORT_DATA", BASE_DIR / "var")
PUBLIC = environment.switch("BOXWORT_PUBLIC", default=False)

SECRET_KEY = environment.secret("BOXWORT_SECRET_KEY", DATA_DIR / "secret-key")
DEBUG = environment.switch("BOXWORT_DEBUG", default=False)
ALLOWED_HOSTS = environment.words("BOXWORT_HOSTS", ("127.0.0.1", "localhost"))
CSRF_TRUSTED_ORIGINS = environment.words("BOXWORT_ORIGINS", ())
if PUBLIC and DEBUG:
    _msg = "BOXWORT_DEBUG shows source code to visitors; unset it where BOXWORT_PUBLIC is yes."
    raise ImproperlyConfigured(_msg)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "rest_framework",
    "rest_framework.authtoken",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "axes",
    "csp",
    "boxwort.accounts",
    "boxwort.jobs",
    "boxwort.web",
    "inventory",
    "recipes",
    "planning",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "boxwort.web.middleware.RefusalMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "boxwort.urls"
WSGI_APPLICATION = "boxwort.wsgi.application"
ASGI_APPLICATION = "boxwort.asgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "boxwort.web.context.shell",
            ],
            "builtins": ["boxwort.web.templatetags.trade", "recipes.web.beer"],
        },
    },
]

DATABASES = {"default": environment.database("BOXWORT_DATABASE", DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.ScryptPasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "sign-in"
AXES_FAILURE_LIMIT = environment.whole("BOXWORT_SIGN_IN_TRIES", 8)
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "web/locked_out.html"
AXES_VERBOSE = False

LANGUAGE_CODE = "en-us"
TIME_ZONE = environment.text("BOXWORT_TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = environment.folder("BOXWORT_STATIC", DATA_DIR / "static")
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "whitenoise.storage.CompressedManifestStaticFilesStorage"
            if PUBLIC
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
    },
}
WHITENOISE_USE_FINDERS = not PUBLIC
MEDIA_ROOT = DATA_DIR / "uploads"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 10_000  # a demand grid has a box for each kit and week
FILE_UPLOAD_PERMISSIONS = 0o600

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    },
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = PUBLIC
CSRF_COOKIE_SECURE = PUBLIC
CSRF_FAILURE_VIEW = "boxwort.web.failures.csrf_failed"
SECURE_SSL_REDIRECT = PUBLIC
SECURE_REDIRECT_EXEMPT = [r"^health/"]  # probes come from inside, without HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if PUBLIC else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = PUBLIC
SECURE_HSTS_PRELOAD = PUBLIC
if environment.switch("BOXWORT_BEHIND_PROXY", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["boxwort.web.doors.HasRight"],
    "DEFAULT_PAGINATION_CLASS": "boxwort.web.paging.Pages",
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_SCHEMA_CLASS": "boxwort.web.schema_api.OperationSchema",
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "EXCEPTION_HANDLER": "boxwort.web.problems.problem",
    "PAGE_SIZE": 50,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Boxwort",
    "DESCRIPTION": (
        "Stock, recipes and production planning for makers of homebrew ingredient kits.\n\n"
        "A quantity of stock is read as a whole number of milligrams, microlitres or pieces, and "
        'written as a decimal with any unit of the trade: {"amount": "2.5", "unit": "kg"}. Money '
        "is a decimal with its currency; shares are 0 to 1. What is written needs the version of "
        "the thing that was read, and an Idempotency-Key."
    ),
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["boxwort.web.doors.HasRight"],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "ENUM_NAME_OVERRIDES": {
        "AnalysisKindEnum": "inventory.models.analyses.AnalysisKind",
        "AnalysisMethodEnum": "inventory.models.analyses.METHOD_CHOICES",
        "BatchStateEnum": "planning.models.batches.BatchState",
        "BrewMethodEnum": "recipes.models.methods.METHOD_CHOICES",
        "CauseKindEnum": "planning.api.purchases.CAUSES",
        "ConversionKindEnum": "inventory.models.conversions.ConversionKind",
        "ConversionStateEnum": "inventory.models.conversions.ConversionState",
        "HopFormEnum": "inventory.models.items.HopForm",
        "HopRoleEnum": "recipes.models.methods.ROLE_CHOICES",
        "ItemKindEnum": "inventory.models.items.ItemKind",
        "JobStateEnum": "boxwort.jobs.models.JobState",
        "LotStatusEnum": "inventory.models.lots.LotStatus",
        "PartEnum": "recipes.models.kits.Part",
        "PlaceKindEnum": "inventory.models.places.PlaceKind",
        "PostingKindEnum": "inventory.models.ledger.PostingKind",
        "ProposalStateEnum": "planning.models.proposals.ProposalState",
        "RevisionStateEnum": "recipes.models.recipes.RevisionState",
        "RunStateEnum": "planning.models.runs.RunState",
        "YeastFormEnum": "inventory.models.items.YeastForm",
    },
}

REDIS_URL = environment.text("BOXWORT_REDIS", "")
JOB_LEASE_SECONDS = environment.whole("BOXWORT_JOB_LEASE_SECONDS", 30)
JOB_SWEEP_SECONDS = environment.whole("BOXWORT_JOB_SWEEP_SECONDS", 5)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {
        "handlers": ["console"],
        "level": environment.text("BOXWORT_LOG_LEVEL", "WARNING").upper(),
    },
}
