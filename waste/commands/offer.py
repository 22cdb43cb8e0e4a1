"""What a refused pour is offered instead: the containers that would take it."""

from darkroom_service.quantity import millilitres
from darkroom_service.refusal import Clash, Refusal, Unworkable
from waste.models import Container
from waste.science import fill as rules
from waste.science.compatibility import Meeting, Verdict
from waste.science.meeting import met
from waste.science.stream import belongs


def refusal(container: Container, judgement: rules.Judgement, meeting: Meeting, liquid: str, volume: int) -> Refusal:
    """Word a refused plan: the rule, the reaction by its name, and the containers that would take it."""
    offers = containers(container, liquid, volume)
    first, chemical = judgement.flags[0], {rules.INCOMPATIBLE, rules.CAUTION} & set(judgement.flags)
    said = f" {meeting.says}" if chemical and meeting.says else ""
    asks = {rules.CAUTION, rules.WRONG_STREAM}.issuperset(judgement.flags)
    spoken = " Or say in acknowledged who agreed, and why it may go in here." if asks else ""
    kind: type[Refusal] = Unworkable if chemical or rules.WRONG_STREAM in judgement.flags else Clash
    return kind(
        first,
        f"{judgement.reason}{said} {_allowed(offers, judgement)}{spoken}"
        " If it has been poured already, report it as happened.",
        flags=list(judgement.flags),
        room_ml=f"{millilitres(judgement.room)}",
        allowed=[_offer(each) for each in offers],
        **(facts(meeting) if chemical else {}),
    )


def facts(meeting: Meeting) -> dict[str, str]:
    """Return what would meet what, the reaction, and whose judgement that is."""
    return {
        "liquid": meeting.liquid,
        "held": meeting.held,
        "verdict": meeting.verdict.value,
        "reaction": meeting.reaction,
        "effect": meeting.effect,
        "source": meeting.source,
    }


def containers(refused: Container, liquid: str, volume: int) -> list[Container]:
    """Return the other open containers that take it all and that it belongs in, the fullest first."""
    others = Container.objects.of(refused.darkroom).exclude(pk=refused.pk).taking(volume).order_by("-contents", "pk")
    fitting = [each for each in others if belongs(liquid, each.stream.sort, each.contents)]
    return [each for each in fitting if met(liquid, each.stream.sort, each.held).verdict is Verdict.MEET]


def _allowed(offers: list[Container], judgement: rules.Judgement) -> str:
    if offers:
        first = offers[0]
        at = f" at {first.location}" if first.location else ""
        return f"Use {first.name} ({first.code}){at}, which has {millilitres(first.room)} mL of room."
    if judgement.flags[0] == rules.OVERFULL and judgement.room:
        return f"{millilitres(judgement.room)} mL still go in; no other open container takes it all."
    return "No open container takes it: ask a technician to set one up or to empty one."


def _offer(container: Container) -> dict[str, str]:
    return {
        "id": str(container.public_id),
        "code": container.code,
        "name": container.name,
        "location": container.location,
        "room_ml": f"{millilitres(container.room)}",
    }
