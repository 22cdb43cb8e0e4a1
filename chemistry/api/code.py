"""What a label's readable code stands for, typed in or scanned."""

from typing import Any, ClassVar

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from accounts.acts import Act
from accounts.gate import ActView, unseen
from chemistry.models import Batch, Vessel
from darkroom_service import shortcode
from darkroom_service.api.fields import Id, Text
from darkroom_service.refusal import Malformed
from darkroom_service.shortcode import ShortcodeFault
from waste.models import Container

KINDS: dict[str, Any] = {"vessels": Vessel, "containers": Container, "batches": Batch}


class CodedOut(serializers.Serializer):
    """One thing by its code: what it is, and its address in this API."""

    collection = serializers.ChoiceField(list(KINDS))
    id = Id()
    href = Text(max_length=200)


class CodeOut(serializers.Serializer):
    """What bears the code: one thing as a rule, more where a vessel and a container happen to share it."""

    code = Text(max_length=12)
    items = CodedOut(many=True)


class CodeView(ActView):
    """A code from a label."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.VESSEL_READ}

    @extend_schema(operation_id="codes_read", responses=CodeOut)
    def get(self, request: Request, slug: str, code: str) -> Response:
        """Find what bears a code; case, dashes, O for 0 and I or L for 1 are forgiven, a slip is named."""
        try:
            meant = shortcode.check(code)
        except ShortcodeFault as fault:
            raise Malformed("code.mistyped", str(fault), pointer="") from None
        room = f"/api/v1/darkrooms/{slug}"
        items = [
            {"collection": name, "id": found, "href": f"{room}/{name}/{found}"}
            for name, kind in KINDS.items()
            for found in kind.objects.filter(darkroom=self.darkroom, code=meant).values_list("public_id", flat=True)
        ]
        if not items:
            raise unseen()
        return Response(CodeOut({"code": meant, "items": items}).data)


urls = [path("codes/<slug:code>", CodeView.as_view())]
