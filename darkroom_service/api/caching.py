"""Answers about a darkroom are for one person: nothing between or after them keeps a copy to show to somebody else."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers


class PrivateAnswers:
    """The asker's own program may keep an answer if it asks again each time; a shared tablet shows nobody else's."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer as the rest of the program does, marked as private."""
        response = self.get_response(request)
        if request.path.startswith("/api/"):
            response.headers.setdefault("Cache-Control", "private, no-cache")
            patch_vary_headers(response, ["Authorization", "Cookie"])
        return response
