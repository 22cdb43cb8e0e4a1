"""What should not have happened with waste: written down by a pour that broke a rule, or by hand; ended by staff."""

from uuid import UUID

from accounts.acts import Act, Role
from accounts.commands import notice, scope
from accounts.commands.entry import Work, command
from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash
from waste.commands import container as containers
from waste.models import Container, ContainerState, Fill, Incident, IncidentKind, IncidentResolution
from waste.science import fill as rules
from waste.science.compatibility import Meeting
from waste.science.stream import HYPOCHLORITE

CLASSES = {
    rules.INCOMPATIBLE: IncidentKind.INCOMPATIBLE,
    rules.WRONG_STREAM: IncidentKind.WRONG_STREAM,
    rules.COLLECTED: IncidentKind.CLOSED,
    rules.CLOSED: IncidentKind.CLOSED,
    rules.OVERFULL: IncidentKind.OVERFULL,
}


@command(Act.INCIDENT_REPORT)
def report(work: Work, *, kind: IncidentKind, what: str, container: UUID | None = None) -> Incident:
    """Write down what happened, in words; a container named is quarantined. It is a report, so never refused."""
    held = None
    if container is not None:
        here = Container.objects.of(work.darkroom)
        held = scope.named(here, container, pointer="/container", noun="container")
        containers.quarantine_locked(work, held, f"Incident: {IncidentKind(kind).label}.")
    row = _write(work, kind=kind, what=what, container=held)
    _tell(work, row)
    return row


@command(Act.INCIDENT_RESOLVE)
def resolve(work: Work, incident: Incident, *, words: str, clear: bool = False) -> IncidentResolution:
    """End an incident with what was found and done; ``clear`` also ends the quarantine of its container."""
    incident = Incident.objects.of(work.darkroom).get(pk=incident.pk)
    if hasattr(incident, "resolution"):
        raise Clash("incident.resolved", "This incident is ended already. Write down anything new as another.")
    at = max(work.occurred_at, incident.occurred_at)
    row = IncidentResolution.objects.create(
        incident=incident, words=words, by=work.by, entry_id=work.entry_id, occurred_at=at
    )
    held = incident.container
    if clear and held is not None and held.state == ContainerState.QUARANTINED:
        if Incident.objects.filter(container=held).unresolved().exists():
            text = f"{held.name} has other incidents that are not ended. End those, and clear it with the last one."
            raise Clash("container.other_incidents", text, container=str(held.public_id))
        containers.clear.inner(work, held, reason=words)  # type: ignore[attr-defined]
    return row


def of_pour_locked(work: Work, fill: Fill, judgement: rules.Judgement, meeting: Meeting) -> Incident:
    """Write the incident of a pour that should not have been, and let nothing more go into its container."""
    held, liquid = fill.container, fill.origin.get("liquid") or fill.origin.get("stream")
    worst = next(flag for flag in judgement.flags if flag in rules.DOUBTFUL)
    kind = CLASSES.get(worst, IncidentKind.OVERFULL)
    if liquid == HYPOCHLORITE and worst in {rules.INCOMPATIBLE, rules.WRONG_STREAM}:
        kind = IncidentKind.HYPOCHLORITE
    said = meeting.says if rules.INCOMPATIBLE in judgement.flags else ""
    what = " ".join(
        part
        for part in (
            f"{millilitres(fill.volume)} mL went into {held.name} ({held.code}): {fill.origin.get('text', '')}.",
            rules.REASONS[worst],
            said,
        )
        if part
    )
    row = _write(work, kind=kind, what=what[:1000], container=held, fill=fill, flags=list(judgement.flags))
    containers.quarantine_locked(work, held, judgement.reason)
    return row


def _write(work: Work, **fields: object) -> Incident:
    return Incident.objects.create(
        darkroom=work.darkroom, by=work.whom, entry_id=work.entry_id, occurred_at=work.occurred_at, **fields
    )


def _tell(work: Work, row: Incident) -> None:
    where = f" at {row.container.name} ({row.container.code})" if row.container else ""
    notice.post_locked(
        work,
        kind="waste-incident",
        subject=f"incident:{row.public_id}",
        text=f"An incident{where}, {row.get_kind_display().lower()}: {row.what}",
        path=f"waste-incidents/{row.public_id}",
        to_roles=(Role.TECHNICIAN, Role.INSTRUCTOR),
        safety=True,
    )
