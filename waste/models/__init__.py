"""Where spent liquid waits: streams, containers and every pour into them."""

from waste.models.container import Container, ContainerMaterial, ContainerState, ContainerStep
from waste.models.fill import Fill
from waste.models.stream import Stream

__all__ = ["Container", "ContainerMaterial", "ContainerState", "ContainerStep", "Fill", "Stream"]
