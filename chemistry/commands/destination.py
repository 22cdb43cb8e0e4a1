"""Where spent liquid goes when nobody says otherwise: the preset of a formula at a strength, and the next container."""

from uuid import UUID

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.entry import Work, command
from chemistry.commands.origin import sort_of_rules
from chemistry.commands.run import read_dilution
from chemistry.models import Batch, Destination, Formula
from darkroom_service.refusal import Unworkable
from waste.commands.container import next_open
from waste.models import Container, ContainerState, Stream
from waste.science.stream import belongs


@command(Act.LINE_EDIT)
def write(work: Work, *, formula: UUID, dilution: str, stream: UUID) -> Destination:
    """Set where the spent liquid of a formula at one dilution goes; what was set before gives way."""
    made = scope.named(Formula.objects.filter(darkroom=work.darkroom), formula, pointer="/formula", noun="formula")
    kept = scope.named(Stream.objects.filter(darkroom=work.darkroom), stream, pointer="/stream", noun="stream")
    version = made.versions.order_by("-number").first()
    liquid = sort_of_rules(version.rules) if version else None
    if not belongs(liquid, kept.sort, 0):
        words = f"{kept.name} takes {kept.sort}, and {made.name} is {liquid}. Name a stream for {liquid}."
        raise Unworkable("container.wrong_stream", words, wants=liquid)
    row, fresh = Destination.objects.get_or_create(
        darkroom=work.darkroom, formula=made, dilution=str(read_dilution(dilution)), defaults={"stream": kept}
    )
    if not fresh:
        row.stream = kept
        row.version += 1
        row.save(update_fields=["stream", "version"])
    return row


def found_locked(
    work: Work, container: Container | None, *, batch: Batch, dilution: str, volume: int
) -> Container | None:
    """Return where so much (0.1 mL) of a batch's spent liquid went, nobody having said where.

    The container of the line while it takes it; when it is full or not open, the next of its stream; with no container
    in the line, one of the preset stream. Late, the line's own: who can say which was next then.
    """
    if container is not None:
        fits = container.state == ContainerState.OPEN and container.room >= volume
        if fits or work.late:
            return container
        return next_open(work.darkroom, container.stream, volume=volume) or container
    rows = Destination.objects.filter(darkroom=work.darkroom, formula=batch.formula_version.formula_id)
    preset = rows.filter(dilution=dilution).select_related("stream").first()
    return next_open(work.darkroom, preset.stream, volume=volume) if preset else None
