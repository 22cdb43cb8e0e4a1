"""The label of a waste container, in the words the country's rules require."""

from typing import ClassVar
from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from accounts.acts import Act
from accounts.gate import ActView
from accounts.models import Darkroom
from darkroom_service import clock
from darkroom_service.api.printing import DRAWN, LabelQuery, address, printed
from darkroom_service.drawing.label import Label
from darkroom_service.localday import day_of
from darkroom_service.quantity import millilitres
from waste.models import Container, ContainerState
from waste.science import containerlabel


class ContainerLabelView(ActView):
    """The label of one container."""

    acts: ClassVar[dict[str, Act]] = {"GET": Act.CONTAINER_READ}

    @extend_schema(operation_id="containers_label", parameters=[LabelQuery], responses=DRAWN)
    def get(self, request: Request, slug: str, id: UUID) -> HttpResponse:
        """Draw a container's label: for a roll, or for a sheet from a place still free."""
        row = self.find(Container.objects.of(self.darkroom), id)
        query = LabelQuery.read(request.query_params.dict())
        return printed([label_of(row, self.darkroom)], query, f"Waste {row.code}", clock.now())


def label_of(row: Container, darkroom: Darkroom) -> Label:
    """Return what a container's label says; ``row`` brings its stream along."""
    stream = row.stream
    said = containerlabel.words(
        darkroom.country_rules,
        kind=stream.kind,
        list_code=stream.list_code,
        us_codes=tuple(stream.us_codes),
        began=row.began and day_of(row.began, darkroom.zone),
        location=row.location,
    )
    quarantined = (("QUARANTINED: nothing more goes in", True),) if row.state == ContainerState.QUARANTINED else ()
    return Label(
        title=stream.name,
        code=row.code,
        address=address(darkroom.slug, row.code),
        lines=(*quarantined, *said.lines, (row.name, False)),
        banner=said.banner,
        signal=said.signal,
        pictograms=said.pictograms,
        statements=said.statements,
        basis=said.basis,
        holds_ml=float(millilitres(row.rated)),
    )
