"""The way of use: what may be drawn from a vessel, poured back into it, and put through it, after its first use."""

from dataclasses import dataclass

from chemistry.science.formula import Material, Process, Use
from chemistry.science.verdict import ALLOWED, Verdict, refused

_USE_WORDS = {
    Use.FRESH: "fresh liquid for one-shot tanks",
    Use.REUSE: "reuse",
    Use.REPLENISHED: "replenished use",
    Use.TRAY: "trays",
}
_PROCESS_WORDS = {
    Process.BW: "black-and-white",
    Process.COLOUR_NEGATIVE: "colour negative",
    Process.COLOUR_REVERSAL: "colour reversal",
    Process.BACKED_MOTION_PICTURE: "backed motion-picture",
}
_NEW_VESSEL = "an empty vessel, or one not yet used"
_WASTE = "a waste container"


@dataclass(frozen=True)
class Liquid:
    """What a vessel holds, or what is about to be poured into one. ``formula`` is the code of a formula version.

    ``use`` and ``material`` are None until the first use; ``used`` is true once film or paper has been through it.
    """

    formula: str
    dilution: str
    use: Use | None = None
    material: Material | None = None
    used: bool = False
    never_poured_back: bool = False


def judge_draw(vessel_use: Use | None, asked: Use) -> Verdict:
    """Judge a draw: the first use fixes the way of use; one-shot is never drawn from a used vessel; common practice."""
    if vessel_use is None or vessel_use is asked:
        return ALLOWED
    if asked is Use.FRESH:
        reason = f"This vessel is in {_USE_WORDS[vessel_use]}: a one-shot tank needs liquid that has done no work."
        return refused("vessel.used", reason, "a vessel of fresh liquid", f"{_USE_WORDS[vessel_use]} from this vessel")
    reason = f"This vessel is kept for {_USE_WORDS[vessel_use]} since its first use, not for {_USE_WORDS[asked]}."
    return refused("vessel.other_use", reason, f"{_USE_WORDS[vessel_use]} from this vessel", _NEW_VESSEL)


def judge_material(vessel_material: Material | None, asked: Material) -> Verdict:
    """Judge film or paper: the first use fixes it, since a fixer's silver limits differ between them; from memory."""
    if vessel_material is None or vessel_material is asked:
        return ALLOWED
    reason = f"This vessel is used for {vessel_material}: {asked} needs its own, with its own limit."
    return refused("vessel.other_material", reason, f"a vessel used for {asked}", _NEW_VESSEL)


def judge_process(bath: Process, film: Process) -> Verdict:
    """Judge a film's process family against the bath's; from memory: the backing of motion-picture film is soot."""
    if film is bath:
        return ALLOWED
    if film is Process.BACKED_MOTION_PICTURE:
        reason = (
            "This film has a black backing (remjet) that comes off in the bath and soils every film after it;"
            " it needs a removal bath of its own first."
        )
        return refused("film.backed", reason, "a line set up for backed motion-picture film")
    reason = (
        f"This is a {_PROCESS_WORDS[film]} film and a {_PROCESS_WORDS[bath]} bath: the picture would be lost"
        " and the bath could no longer be trusted."
    )
    return refused(
        "film.other_process", reason, f"a {_PROCESS_WORDS[film]} line", f"a {_PROCESS_WORDS[bath]} film here"
    )


def judge_pour_back(liquid: Liquid, vessel: Liquid | None) -> Verdict:
    """Judge pouring into a vessel (None: an empty one), common practice: only like joins like, used never joins fresh.

    Unused liquid of the same formula and strength may always top a vessel up; its age and load stay as they were.
    """
    if vessel is None:
        return ALLOWED
    if liquid.formula != vessel.formula:
        return _other_formula(liquid)
    if liquid.dilution != vessel.dilution:
        reason = f"The vessel holds {vessel.dilution} and this is {liquid.dilution}: the strength would be unknown."
        return refused("vessel.other_strength", reason, f"a vessel of {liquid.dilution}", _WASTE)
    return _judge_used(liquid, vessel) if liquid.used else ALLOWED


def _other_formula(liquid: Liquid) -> Verdict:
    if liquid.never_poured_back:
        reason = "This is a bath that follows another: one drop of it starts the first bath working in its bottle."
        return refused("vessel.first_bath", reason, "the vessel it was drawn from", _WASTE)
    return refused("vessel.other_formula", "The vessel holds another liquid.", "a vessel of the same liquid", _WASTE)


def _judge_used(liquid: Liquid, vessel: Liquid) -> Verdict:
    if not vessel.used:
        reason = "This liquid has been used and the vessel holds fresh: used never goes back to fresh."
        return refused("vessel.fresh", reason, "the vessel of used liquid it came from", _NEW_VESSEL, _WASTE)
    if liquid.material is not None:
        same = judge_material(vessel.material, liquid.material)
        if not same.ok:
            return same
    if liquid.use is not vessel.use:
        return refused("vessel.other_use", "The two have been used in different ways.", "a vessel used alike", _WASTE)
    return ALLOWED
