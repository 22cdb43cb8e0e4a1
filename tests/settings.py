"""The program's own settings, made quick and kept apart: nothing of a test is left behind."""

import atexit
import os
import shutil
import tempfile
from typing import Any

_home = tempfile.mkdtemp(prefix="darkroom-tests-")
atexit.register(shutil.rmtree, _home, ignore_errors=True)
os.environ["DARKROOM_DATA"] = _home
os.environ.setdefault("SECRET_KEY", "only for tests")
os.environ.setdefault("DARKROOM_LOG_LEVEL", "WARNING")
os.environ.setdefault("DARKROOM_LOG_JSON", "no")

from darkroom_service.settings import *  # noqa: E402, F403 - the environment must be set first
from darkroom_service.settings import DATABASES, REST_FRAMEWORK  # noqa: E402

DEBUG = False
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AXES_ENABLED = False  # a test of the lockout switches it on

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: threads must see one database. No flushing to disk: a test need not survive a power cut.
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(_home, "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"

_rates: dict[str, Any] = dict.fromkeys(("anon", "user", "login"))
REST_FRAMEWORK = {**REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": _rates}  # a test of throttling asks for its rate
