"""Keeping a working tank alive: so much poured off to waste, so much replenisher added, in one act."""

from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from accounts.acts import Act
from accounts.commands import scope
from accounts.commands.entry import Work, command
from chemistry.commands import cost, emptying, joining, moving
from chemistry.commands import vessel as vessels
from chemistry.commands.ledger import Book
from chemistry.models import Transfer, TransferKind, Vessel
from chemistry.science.formula import Use
from chemistry.science.verdict import Verdict, refused
from darkroom_service.refusal import Malformed
from waste.models import Container


def with_added(rows: QuerySet[Vessel]) -> QuerySet[Vessel]:
    """Bring along, as ``added``, the replenisher each vessel got since it was filled, in 0.1 mL."""
    doses = Transfer.objects.filter(
        kind=TransferKind.REPLENISH, target=OuterRef("pk"), occurred_at__gte=OuterRef("filled_at"), entry__reversal=None
    )
    summed = doses.order_by().values("target").annotate(sum=Sum("volume")).values("sum")
    return rows.annotate(added=Coalesce(Subquery(summed), 0))


@command(Act.VESSEL_REPLENISH)
def replenish(
    work: Work, vessel: Vessel, *, replenisher: UUID, added: int, poured_off: int = 0, container: UUID | None = None
) -> Transfer:
    """Pour off the overflow, then add replenisher from its vessel; what was owed for the films is owed no more."""
    book, tank = Book(work, work.occurred_at), vessels.reread(vessel)
    source = vessels.named(work, replenisher, pointer="/replenisher")
    batch, fresh = vessels.batch_then(book, tank), vessels.batch_then(book, source)
    if source.pk == tank.pk:
        words = "A tank is not replenished from itself: name the vessel of replenisher."
        raise Malformed("transfer.same_vessel", words, pointer="/replenisher")
    vessels.check_volume(added, pointer="/added")
    vessels.check_size(tank, added - poured_off, pointer="/added")
    verdicts = _judge(book, tank, source, added, poured_off)
    before = (tank.contents, source.contents)
    flags = _pour_off(book, tank, poured_off, container)
    book.move(source, tank, added, into=batch)
    if not book.gone(tank):
        tank.replenish_owed = max(tank.replenish_owed - added, 0)
    for each, contents in zip((tank, source), before, strict=True):
        joining.restate(book, each, contents)
    cost.pass_on_locked(work, fresh, batch, added)
    done = moving.record(book, TransferKind.REPLENISH, added, verdicts, source=source, target=tank, more=flags)
    return done.transfer


def _pour_off(book: Book, tank: Vessel, volume: int, container: UUID | None) -> list[str]:
    """Let the overflow go to its container; returns what waste has against it."""
    if volume == 0:
        return []
    if container is None:
        words = "Say which container the overflow went to."
        raise Malformed("field.required", words, pointer="/container")
    here = Container.objects.of(book.work.darkroom)
    found = scope.named(here, container, pointer="/container", noun="container")
    flags: list[str] = emptying.to_waste(book, tank, found, volume).flags
    return flags


def _judge(book: Book, tank: Vessel, source: Vessel, added: int, poured_off: int) -> list[Verdict]:
    """Judge the replenisher against the formula's rule, and the tank against its way of use and its size."""
    batch, fresh = vessels.batch_then(book, tank), vessels.batch_then(book, source)
    rule = batch.formula_version.rules.replenishing
    verdicts = list(joining.judge_stock(book, source, added))
    known = {rule.replenisher if rule else "", batch.formula_version.formula.code}
    if rule is None:
        words = "The formula of this bath says nothing about replenishing."
        verdicts.append(refused("formula.not_replenished", words, "use it up and make a fresh bath"))
    elif fresh.formula_version.formula.code not in known or joining.has_worked(source):
        words = f"What came from {source.name} is not the replenisher of this bath ({rule.replenisher})."
        verdicts.append(refused("replenisher.other", words, f"unused {rule.replenisher}"))
    if tank.use and tank.use != Use.REPLENISHED and not book.gone(tank):
        words = f"{tank.name} is kept for {tank.use} since its first use, not for replenished use."
        verdicts.append(refused("vessel.other_use", words, "a vessel kept for replenished use"))
    if not book.anchored(tank) and tank.contents + added - poured_off > tank.nominal:
        verdicts.append(refused("vessel.overfull", f"{tank.name} is fuller than its nominal volume now."))
    return verdicts
