"""The WSGI application any web server loads."""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "darkroom_service.settings")

application = get_wsgi_application()
# Load every address now: a mistake stops the start instead of failing each request, and the first request is quick.
_ = get_resolver().url_patterns
