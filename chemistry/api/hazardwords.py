"""How hazards are worded: in full with every trail, and in short for where somebody is about to touch something."""

from collections.abc import Iterable
from typing import Any

from rest_framework import serializers

from chemistry.commands.hazards import coded
from chemistry.science.hazard.assess import Assessment
from chemistry.science.hazard.classify import CALCULATED
from chemistry.science.hazard.figure import shown
from chemistry.science.hazard.mixture import Regime
from chemistry.science.hazard.origin import How
from chemistry.science.hazard.protect import Protection
from chemistry.science.hazard.trail import Trail
from darkroom_service.api.fields import DecimalText, Flag, Text

REGIMES = {"EU": Regime.CLP, "UN": Regime.UN_GHS}
WORDS = {regime: name for name, regime in REGIMES.items()}
HOWS = [each.value for each in How]


class CodedOut(serializers.Serializer):
    """A statement by its code and in words."""

    code = Text(max_length=40)
    words = Text(max_length=1000)


class CountedOut(serializers.Serializer):
    """One ingredient in a sum: its share in % by weight, and what that was multiplied by."""

    cas = Text(max_length=12)
    name = Text(max_length=120)
    percent = DecimalText()
    weight = DecimalText()


class TrailOut(serializers.Serializer):
    """One class that is given: by which rule, what was counted, and the sum against its limit."""

    code = Text(max_length=60)
    statement = Text(max_length=20)
    rule = Text(max_length=400)
    counted = CountedOut(many=True)
    sum = DecimalText()
    limit = DecimalText()
    unit = Text(max_length=20)
    verdict = Text(max_length=400)
    source = Text(max_length=400, help_text="Of the limit.")  # type: ignore[assignment]
    how = serializers.ChoiceField(HOWS, help_text="How that limit got here.")


class ProtectionOut(serializers.Serializer):
    """What one activity asks for."""

    activity = Text(max_length=40)
    worn = serializers.ListField(child=Text(max_length=60))
    topics = serializers.ListField(child=Text(max_length=60))
    words = serializers.ListField(child=Text(max_length=1000))


class OverrideOut(serializers.Serializer):
    """An ingredient of which this darkroom says something else than the table that ships, and by which source."""

    cas = Text(max_length=12)
    name = Text(max_length=120)
    source = Text(max_length=300)  # type: ignore[assignment]


class CautionOut(serializers.Serializer):
    """What it can do, what to do about it, whom to ask."""

    hazard = Text(max_length=300)
    precaution = Text(max_length=300)
    ask = Text(max_length=300)


class HazardOut(serializers.Serializer):
    """Classes, label and protection at one strength. ``missing`` is what is not known; it never reads as harmless.

    Ranges are judged at their worst; ``best`` holds the classes at their mildest.
    """

    form = Text(max_length=12)
    regime = serializers.ChoiceField(list(REGIMES))
    summary = Text(max_length=4000)
    known = Flag()
    signal = Text(max_length=20, allow_blank=True)
    pictograms = serializers.ListField(child=Text(max_length=10))
    statements = CodedOut(many=True)
    precautions = CodedOut(many=True)
    supplements = CodedOut(many=True)
    classes = TrailOut(many=True)
    best = serializers.ListField(child=Text(max_length=60))
    missing = CodedOut(many=True)
    doubts = serializers.ListField(child=Text(max_length=1000))
    assumptions = serializers.ListField(child=Text(max_length=400))
    changes = serializers.ListField(child=Text(max_length=400), help_text="What dissolving turns into something else.")
    overrides = OverrideOut(many=True)
    prevails = Text(max_length=200)


class HazardsOut(HazardOut):
    """The same with what each activity asks for, and what is said whatever the strength."""

    protections = ProtectionOut(many=True)
    cautions = CautionOut(many=True)


class HazardBriefOut(serializers.Serializer):
    """The hazard at one strength, in short. ``unknowns`` could make it worse; it never reads as harmless."""

    formula = Text(max_length=60, help_text="Its code.")
    form = Text(max_length=12)
    signal = Text(max_length=20, allow_blank=True)
    pictograms = serializers.ListField(child=Text(max_length=10))
    statements = CodedOut(many=True)
    supplements = CodedOut(many=True)
    worn = serializers.ListField(child=Text(max_length=60))
    unknowns = serializers.ListField(child=Text(max_length=1000))
    summary = Text(max_length=4000)
    overrides = OverrideOut(many=True)
    prevails = Text(max_length=200)


def assessed(found: Assessment) -> dict[str, Any]:
    """Return an assessment in full."""
    answer, label = found.classification, found.label
    return {
        "form": found.strength,
        "regime": WORDS[answer.policy.regime],
        "summary": answer.summary,
        "known": answer.known,
        "signal": label.signal,
        "pictograms": label.pictograms,
        "statements": coded(label.statements),
        "precautions": coded(label.precautions),
        "supplements": coded(label.supplements),
        "classes": [_trail(each) for each in answer.worst.given],
        "best": answer.best.codes,
        "missing": [{"code": each.code, "words": each.words} for each in answer.missing],
        "doubts": [f"{name}: {flag.words}" for name, flag in answer.flags],
        "assumptions": found.mixture.assumptions,
        "changes": found.mixture.changes,
        "overrides": [dict(vars(each)) for each in found.overrides],
        "prevails": CALCULATED,
    }


def _trail(found: Trail) -> dict[str, Any]:
    rows = [
        {"cas": each.cas, "name": each.name, "percent": shown(each.percent), "weight": shown(each.weight)}
        for each in found.counted
    ]
    plain = {name: getattr(found, name) for name in ("code", "statement", "rule", "unit", "verdict")}
    figures = {"sum": shown(found.total), "limit": shown(found.limit)}
    return {**plain, **figures, "counted": rows, "source": found.origin.title, "how": found.origin.how}


def protected(found: Iterable[Protection]) -> list[dict[str, Any]]:
    """Return what activities ask for."""
    return [
        {
            "activity": each.activity.value,
            "worn": [worn.gear.value for worn in each.worn],
            "topics": list(each.topics),
            "words": list(each.words),
        }
        for each in found
    ]
