"""The way out that stands in each mail: one click by a mail program (RFC 8058), or a page with a button."""

from uuid import UUID

from django.core.signing import BadSignature
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from accounts.commands import preference
from accounts.sending.words import UNSUBSCRIBE


@csrf_exempt  # a mail program sends no cookie; the signed address is the proof, and all it can do is end own mail
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def unsubscribe(request: HttpRequest, signed: str) -> HttpResponse:
    """Show a button, or end the mail when it is pressed. Looking never does: link checkers look at everything."""
    try:
        membership = UUID(UNSUBSCRIBE.unsign(signed))
    except (BadSignature, ValueError):
        return render(request, "unsubscribe.html", {"state": "unknown"}, status=404)
    if request.method == "POST":
        preference.mute(membership)
    return render(request, "unsubscribe.html", {"state": "done" if request.method == "POST" else "asking"})
