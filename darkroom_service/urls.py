"""Every address of the program, in one place for each app."""

from django.urls import URLPattern, URLResolver, include, path
from django.views.generic import RedirectView, TemplateView

from accounts.api.calendar import calendar
from accounts.api.unsubscription import unsubscribe
from darkroom_service import health
from darkroom_service.api import docs

V1: list[URLPattern | URLResolver] = [
    path("", include("accounts.api.urls")),
    path("", include("waste.api.urls")),
    path("", include("chemistry.api.urls")),
    path("schema", docs.SchemaView.as_view(), name="schema"),
    path("docs", docs.DocsView.as_view(url_name="schema"), name="docs"),
]

urlpatterns = [
    path("", TemplateView.as_view(template_name="landing.html"), name="landing"),
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("feeds/<str:secret>.ics", calendar, name="feed"),
    path("unsubscribe/<str:signed>", unsubscribe, name="unsubscribe"),
    # What a label's code to scan leads to; it tells nobody whether there is such a thing.
    path(
        "d/<slug:slug>/<slug:code>", RedirectView.as_view(url="/api/v1/darkrooms/%(slug)s/codes/%(code)s"), name="code"
    ),
    path("problems/<code>", docs.explain_problem, name="problem"),
    path("api/v1/", include(V1)),
]

handler400 = "darkroom_service.api.errors.bad_request"
handler403 = "darkroom_service.api.errors.forbidden"
handler404 = "darkroom_service.api.errors.not_found"
handler500 = "darkroom_service.api.errors.server_error"
