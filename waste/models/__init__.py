"""Where spent liquid waits: streams, containers and every pour into them."""

from waste.models.container import Container, ContainerMaterial, ContainerState, ContainerStep, Washing
from waste.models.document import Content, Disclosure, Document, DocumentRemoval, MediaType
from waste.models.drain import DrainRelease, DrainRule
from waste.models.fill import Fill
from waste.models.incident import Incident, IncidentKind, IncidentResolution
from waste.models.inspection import Inspection
from waste.models.pickup import Collection, Pickup, PickupItem, PickupState, Way
from waste.models.stream import Stream, StreamVersion

__all__ = [
    "Collection",
    "Container",
    "ContainerMaterial",
    "ContainerState",
    "ContainerStep",
    "Content",
    "Disclosure",
    "Document",
    "DocumentRemoval",
    "DrainRelease",
    "DrainRule",
    "Fill",
    "Incident",
    "IncidentKind",
    "IncidentResolution",
    "Inspection",
    "MediaType",
    "Pickup",
    "PickupItem",
    "PickupState",
    "Stream",
    "StreamVersion",
    "Washing",
    "Way",
]
