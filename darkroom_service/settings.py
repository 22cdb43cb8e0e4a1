"""Every setting, read from the environment once; safe by default, and a wrong value stops the start with its name.

Any variable may also be given as ``NAME_FILE``, the path of a file that holds the value.
"""

import logging
from datetime import timedelta
from pathlib import Path
from typing import Any

from darkroom_service import logs
from darkroom_service.environment import database, env, env_count, env_switch, kept_secret, mail

# Where things are
BASE = Path(__file__).resolve().parent.parent
DATA = Path(env.str("DARKROOM_DATA", default="data")).resolve()
HTTPS = env_switch("DARKROOM_HTTPS", default=False)
DEBUG = env_switch("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or kept_secret(DATA / "secret-key")
ALLOWED_HOSTS = env.list("DARKROOM_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if HTTPS else []
DATABASE_URL = env.str("DATABASE_URL", default="")
REDIS_URL = env.str("REDIS_URL", default="")
PROXIES = env_count("DARKROOM_PROXIES", default=0)
HEARTBEAT_LIMIT = timedelta(seconds=env_count("DARKROOM_HEARTBEAT_LIMIT", default=120))

ROOT_URLCONF = "darkroom_service.urls"
WSGI_APPLICATION = "darkroom_service.wsgi.application"
AUTH_USER_MODEL = "accounts.Person"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
APPEND_SLASH = False
USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "axes",
    "csp",
    "django_structlog",
    "accounts",
    "waste",
    "chemistry",
    "darkroom_service",
]

MIDDLEWARE = [
    "django_structlog.middlewares.RequestMiddleware",
    "darkroom_service.logs.RequestIdHeader",
    "django.middleware.security.SecurityMiddleware",
    "darkroom_service.api.caching.PrivateAnswers",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_permissions_policy.PermissionsPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]


# Database: one file at home, PostgreSQL when outgrown
# No ATOMIC_REQUESTS: a command owns its transaction and says so with durable=True.
DATABASES = {"default": database(DATABASE_URL, DATA)}

CACHES: dict[str, Any] = {
    "default": {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": REDIS_URL,
        "KEY_PREFIX": "darkroom",
        "OPTIONS": {"socket_timeout": 5, "socket_connect_timeout": 5},
    }
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
}

# People and passwords
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
# A name and an address together: a whole school shares one address, and a stranger must not lock a pupil out.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "darkroom_service.api.errors.locked_out"
AXES_USERNAME_CALLABLE = "darkroom_service.api.token.login_name"
AXES_RESET_ON_SUCCESS = True
AXES_ENABLE_ADMIN = AXES_VERBOSE = False
AXES_DISABLE_ACCESS_LOG = True  # who signed in from where is kept for wrong passwords only
AXES_IPWARE_PROXY_COUNT = PROXIES or None
KNOX_TOKEN_MODEL = "accounts.Token"  # noqa: S105 - a model, not a secret
REST_KNOX = {"TOKEN_TTL": timedelta(days=90), "AUTH_HEADER_PREFIX": "Token", "TOKEN_PREFIX": "dkr_"}

# The browser's guards
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]  # a probe inside the machine speaks plain HTTP
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS and PROXIES else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}
PERMISSIONS_POLICY: dict[str, Any] = {
    **{feature: [] for feature in ("accelerometer", "geolocation", "gyroscope", "microphone", "payment", "usb")},
    **dict.fromkeys(("camera", "screen-wake-lock"), "self"),
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024

# Notices that leave the inbox
# Links in mails and calendars begin with this, never with what a request claims the host to be.
ORIGIN = env.str("DARKROOM_ORIGIN", default=f"https://{ALLOWED_HOSTS[0]}" if HTTPS else "http://127.0.0.1:8000").rstrip(
    "/"
)
EMAIL_URL = env.str("EMAIL_URL", default="")
MAIL_READY = bool(EMAIL_URL)
_mail = mail(EMAIL_URL)
EMAIL_BACKEND = _mail["EMAIL_BACKEND"]
EMAIL_HOST, EMAIL_PORT = _mail.get("EMAIL_HOST", ""), _mail.get("EMAIL_PORT") or 25
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = _mail.get("EMAIL_HOST_USER") or "", _mail.get("EMAIL_HOST_PASSWORD") or ""
EMAIL_USE_TLS, EMAIL_USE_SSL = _mail.get("EMAIL_USE_TLS", False), _mail.get("EMAIL_USE_SSL", False)
EMAIL_TIMEOUT = env_count("DARKROOM_MAIL_TIMEOUT", default=20)
DEFAULT_FROM_EMAIL = env.str("DARKROOM_MAIL_FROM", default=f"darkroom@{ALLOWED_HOSTS[0]}")
DELIVERY_LEASE = timedelta(seconds=env_count("DARKROOM_DELIVERY_LEASE", default=120))
DELIVERY_BACKOFF = timedelta(seconds=env_count("DARKROOM_DELIVERY_BACKOFF", default=60))
NOTICE_STILL_DUE = "darkroom_service.notices.still_due"  # asked of a notice before it is mailed
# What a member's calendar holds besides notices: each app says its own.
FEED_SOURCES = (
    "accounts.commands.coming.sign_offs",
    "waste.commands.coming.pickups",
    "chemistry.commands.coming.vessels",
)
DELIVERY_SENDERS = env_count("DARKROOM_DELIVERY_SENDERS", default=4)
TICK_SECONDS = env_count("DARKROOM_TICK_SECONDS", default=30)
WEBHOOK_INSIDE = env_switch("DARKROOM_WEBHOOK_INSIDE", default=False)

# Static files are served straight from the packages: nothing to collect at install or at start.
STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = False

# The API
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "darkroom_service.api.token.TokenAuthentication",  # first, so that no credentials means 401
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["darkroom_service.api.parser.StrictJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "darkroom_service.api.schema.Schema",
    "DEFAULT_THROTTLE_CLASSES": [
        "rest_framework.throttling.AnonRateThrottle",
        "rest_framework.throttling.UserRateThrottle",
        "rest_framework.throttling.ScopedRateThrottle",
    ],
    "DEFAULT_THROTTLE_RATES": {
        "anon": env.str("DARKROOM_RATE_ANON", default="120/min"),
        "user": env.str("DARKROOM_RATE_USER", default="1200/min"),
        "login": env.str("DARKROOM_RATE_LOGIN", default="30/min"),
    },
    "EXCEPTION_HANDLER": "darkroom_service.api.errors.answer",
    "NUM_PROXIES": PROXIES,
    "DEFAULT_METADATA_CLASS": None,
    "URL_FORMAT_OVERRIDE": None,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Darkroom Service",
    "DESCRIPTION": "Shared darkroom chemistry: what is in which bottle, what it can still do, and where it went.",
    "VERSION": "1",
    "LICENSE": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
    "OAS_VERSION": "3.1.1",
    "SCHEMA_PATH_PREFIX": r"/api/v1",
    "SERVE_INCLUDE_SCHEMA": False,
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    # Choices stay written out where they stand: naming each set apart would be one more list to keep.
    "POSTPROCESSING_HOOKS": ["darkroom_service.api.schema.add_plumbing"],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "SWAGGER_UI_SETTINGS": {"deepLinking": True, "persistAuthorization": False},
}

# Logs
LOG_JSON = env_switch("DARKROOM_LOG_JSON", default=True)
LOGGING = logs.configuration(as_json=LOG_JSON, level=env.str("DARKROOM_LOG_LEVEL", default="INFO"))
DJANGO_STRUCTLOG_STATUS_4XX_LOG_LEVEL = logging.INFO  # a refusal is an answer, not a fault of ours
