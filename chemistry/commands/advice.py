"""What a plan answers, as plain JSON: stored as it was given, never rewritten. Ids and codes, no names."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from accounts.commands.entry import Work
from chemistry.commands import cost, run
from chemistry.commands import hazards as hazard
from chemistry.models import Vessel
from chemistry.science.development import Time
from chemistry.science.load import text as load_text
from chemistry.science.load import words as load_words
from chemistry.science.tank import DEVELOPER, Conditions, Need, spent_ml, to_ten
from darkroom_service.quantity import load_units, millilitres


def quantity(ml: Decimal) -> dict[str, str]:
    """Return millilitres as an answer shows them."""
    return {"value": f"{ml:f}", "unit": "mL"}


def named(vessel: Vessel) -> dict[str, str]:
    """Return a vessel by id and label code."""
    return {"id": str(vessel.public_id), "code": vessel.code}


def time_given(found: Time, conditions: Conditions) -> dict[str, Any]:
    """Return the time with each factor; no minutes where no base time was told."""
    told = conditions.base_min is not None
    return {
        "base_min": f"{found.base_min:f}" if told else None,
        "minutes": f"{found.minutes:f}" if told else None,
        "factors": [{"name": each.name, "value": f"{each.value:f}", "why": each.why} for each in found.factors],
    }


def pour(asked: Need) -> dict[str, Any]:
    """Return stock and water to 0.1 mL, and as a bench measure shows them."""
    whole = to_ten(asked.drawn_ml + asked.water_ml)
    stock = to_ten(asked.drawn_ml)
    return {
        "stock": quantity(asked.drawn_ml),
        "water": quantity(asked.water_ml),
        "shown": {"stock": quantity(stock), "water": quantity(whole - stock)},
    }


def charge(stage: run.Stage) -> dict[str, Any]:
    """Return what one vessel of the line will be charged."""
    asked = stage.need
    return {
        "role": stage.role,
        "vessel": named(stage.vessel),
        "use": next(word for word, use in run.USES.items() if use is asked.use),
        "dilution": str(asked.dilution),
        **pour(asked),
        "comes_back": asked.comes_back,
        "leaves": quantity(asked.leaves_ml),
        "load": load_text(load_units(asked.load)),
        "container": str(stage.container.public_id) if stage.container else None,
    }


def dues(stages: Sequence[run.Stage], *, compensate: bool) -> list[Fraction]:
    """Return what each stage costs, in exact minor units of currency."""
    return [
        cost.due(stage.batch, spent_ml(stage.bath, stage.need, compensate=compensate and stage.role == DEVELOPER))
        for stage in stages
    ]


def cautions(stages: Sequence[run.Stage]) -> list[dict[str, str]]:
    """Return the floor of words for every liquid of the line, each once; concentrates are poured as what they are."""
    return hazard.floor(stage.batch.formula_version for stage in stages)


def hazards(work: Work, stages: Sequence[run.Stage]) -> list[dict[str, Any]]:
    """Return the hazards of every liquid of the run, as it stands in its vessel and as it is used."""
    table = hazard.substances_of(work.darkroom)
    found = ((stage.batch.formula_version, form) for stage in stages
             for form in (stage.batch.dilution, str(stage.need.dilution)))  # fmt: skip
    return hazard.liquids(found, table)


def warnings(stages: Sequence[run.Stage], found: Time, conditions: Conditions) -> list[str]:
    """Return what does not stand against the plan but should be minded."""
    developer = stages[0]
    words = list(found.warnings) if conditions.base_min is not None else []
    rules = developer.bath.rules
    if rules.keeping.strip_before_critical or rules.colourless_failure:
        words.append(
            "This developer can fail without a change of colour: run a strip first if the film cannot be shot again."
        )
    for stage in stages:
        words += _of_vessel(stage)
    return words


def _of_vessel(stage: run.Stage) -> list[str]:
    vessel, bath, words = stage.vessel, stage.bath, []
    if vessel.replenish_owed > 0:
        words.append(f"{vessel.code} is owed {millilitres(vessel.replenish_owed)} mL of replenisher: add it first.")
    if bath.held_load and stage.need.comes_back:
        words.append(
            f"Others have planned {load_words(bath.held_load)} roll units through {vessel.code}:"
            " wait until theirs is poured back, and see whether the time has changed by then."
        )
    return words


def cost_estimate(work: Work, stages: Sequence[run.Stage], *, compensate: bool) -> dict[str, Any]:
    """Return what the tank will cost the person, at today's standard rate."""
    minor = round(sum(dues(run.shared(stages), compensate=compensate), Fraction(0)))
    return {"minor": minor, "currency": work.darkroom.currency}
