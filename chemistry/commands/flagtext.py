"""The words of every flag: what broke, what to do about it, and whom to ask. One home for all of chemistry."""

from collections.abc import Iterable

from chemistry.commands.flagwaste import STAFF, TECHNICIAN, WASTE

TEXTS: dict[str, str] = {
    # What the liquid was asked to do
    "tank.short_of_stock": (
        "Too little stock for this load: the film may come out thin."
        f" Judge the negatives, and print or scan a test before the next roll is done so. {STAFF}"
    ),
    "capacity.exhausted": (
        "More went through this bath than it is good for."
        f" Do not use it again before it is tested or emptied; look at this film closely. {TECHNICIAN}"
    ),
    "capacity.not_promised": (
        "The formula gives no capacity for this way of use, so nobody knows how long the bath lasts."
        f" Run a test before the next film. {TECHNICIAN}"
    ),
    "dilution.not_offered": (
        f"The formula names no such dilution. Judge the result before you rely on it again. {TECHNICIAN}"
    ),
    "dilution.other_strength": (
        "The vessel holds another strength than was written down."
        f" Read its label, and reverse this entry if the strength was mistyped. {TECHNICIAN}"
    ),
    "formula.not_replenished": (
        f"The formula says nothing about replenishing. Run a strip before the next film. {TECHNICIAN}"
    ),
    # What stood in the vessel, and whether it could be trusted
    "vessel.short": (
        "The record held less than was poured; the difference came from unaccounted."
        f" Read the level off the vessel and enter it. {TECHNICIAN}"
    ),
    "vessel.waiting": (
        "The batch was not released when it was used. Keep the film apart until its test is known"
        f" and do not use the vessel again before then. {TECHNICIAN}"
    ),
    "vessel.test_first": (
        "This bath should have been tested before use: its date, its air or its strip was due."
        f" Have it tested before the next film. {TECHNICIAN}"
    ),
    "vessel.expired": f"The use-by date had passed. Have the bath tested before the next film. {TECHNICIAN}",
    "vessel.stopped": (
        f"This vessel was stopped when it was used. Leave it alone and keep the film apart to be looked at. {STAFF}"
    ),
    "vessel.spent": f"This bath had done all it can. Empty it to waste and look at this film closely. {TECHNICIAN}",
    "vessel.unfilled": (
        "The record had nothing in this vessel at that time, so nothing could be charged to it."
        f" Enter its filling if it was filled. {TECHNICIAN}"
    ),
    "vessel.refilled": (
        "The vessel has been filled anew since: this load went with its earlier filling and changes nothing now."
        f" Nothing to do unless the time is wrong. {TECHNICIAN}"
    ),
    "vessel.level_known": (
        "The level was read or set after this happened, so this late entry changes no level."
        f" Nothing to do unless the time is wrong. {TECHNICIAN}"
    ),
    "vessel.private": (
        "This is somebody else's own bottle. Tell its owner what went through it, and use a shared vessel next time."
        f" {TECHNICIAN}"
    ),
    # The way of use, and what must not meet
    "vessel.used": (
        "A one-shot tank was drawn from liquid that has done work: the film may come out thin."
        f" Judge the negatives before the next roll. {TECHNICIAN}"
    ),
    "vessel.other_use": (
        "This vessel is kept for another way of use since its first."
        f" Do not pour from it or into it until somebody has looked. {TECHNICIAN}"
    ),
    "vessel.other_material": (
        "Film and paper went through one vessel, and each has its own limit."
        f" Keep the vessel to one of them from here on. {TECHNICIAN}"
    ),
    "vessel.fresh": (
        "Used liquid went into fresh: the whole bottle is doubtful and is stopped."
        f" Do not use it; label it and leave it standing. {TECHNICIAN}"
    ),
    "vessel.first_bath": (
        "A second bath was poured into a first: it starts the first working in its bottle, which is stopped."
        f" Do not use it; label it and leave it standing. {TECHNICIAN}"
    ),
    "vessel.other_formula": (
        "Two different liquids met in one vessel, which is stopped. Do not use or close it tightly;"
        f" with eye protection and gloves on, move it to the fan. {STAFF}"
    ),
    "vessel.other_strength": (
        f"Two strengths met in one vessel, so nobody knows the strength now; it is stopped. Do not use it. {TECHNICIAN}"
    ),
    "film.backed": (
        "Film with a black backing (remjet) went through: soot is left in every bath that was poured back,"
        f" and they are stopped. Wear gloves; do not wipe other film with the same cloth. {TECHNICIAN}"
    ),
    "film.other_process": (
        "Film of another process went through: every bath that was poured back is stopped."
        f" Do not use them until somebody has looked. {TECHNICIAN}"
    ),
    "step.other_kind": (
        "The vessel holds another kind of bath than this step is for. Stop and read its label before the next film."
        f" {TECHNICIAN}"
    ),
    # What came back and where the rest went
    "pour_back.over": (
        "More was poured back than went into the tank; the difference came from unaccounted, and may be water."
        f" Read the level, and have the bath tested if water got in. {TECHNICIAN}"
    ),
    "pour_back.short": (
        "Much less was poured back than went into the tank, and nobody said where the rest went; it counts as"
        f" unaccounted. If it is standing in a jug, label it and pour it into its container. {TECHNICIAN}"
    ),
    **WASTE,
    # Trays
    "tray.hours_passed": (
        "The tray had stood open longer than its formula promises: prints may stain or come out weak."
        f" Fill it anew before the next print. {TECHNICIAN}"
    ),
    "tray-session.closed": (
        "The session was closed before these sheets are said to have gone through; they are counted to it, and change"
        f" no tray. Check the time; if they went through other trays, reverse this and enter them there. {TECHNICIAN}"
    ),
    # How a batch came to be
    "pack.past_date": (
        f"A pack was past its best-before day when it was asked for. The release test decides. {TECHNICIAN}"
    ),
    "batch.off_mark": (
        "The volume is more than 2 % off what the packs make, so the strength is too."
        f" Compare the release strip with care. {TECHNICIAN}"
    ),
    "batch.water_outside_window": (
        "The water was colder or warmer than this powder is started in, so it may not dissolve, or may spoil."
        f" Look for grains before it is bottled, and test it before its release. {TECHNICIAN}"
    ),
    "vessel.refilling_undone": (
        "A filling of this vessel was taken back, and the record cannot say for sure what stood there before;"
        f" it is stopped. Test it, or empty it to waste. {TECHNICIAN}"
    ),
    "batch.found": (
        "It was mixed without approval here. Do not use it before an instructor has released it. Ask the instructor."
    ),
    "vessel.not_empty": (
        "The record still had liquid in this vessel; it counts as unaccounted."
        f" Make sure it was emptied and rinsed before, or withdraw the batch. {TECHNICIAN}"
    ),
    "vessel.spilled": (
        "Liquid was spilled. Put on gloves and eye protection, keep others away, wipe it up wet and rinse."
        f" {TECHNICIAN}"
    ),
    "vessel.closed_hot": (
        "The bottle was closed on warm liquid: as it cools it draws air past the cap."
        f" Loosen the cap, let it cool, top up and close it again. {TECHNICIAN}"
    ),
    "batch.resting": (
        "The batch was poured before its rest was over, so not all of it may be dissolved."
        f" Look for grains in the bottles before they are used. {TECHNICIAN}"
    ),
    "batch.unreleased": (
        "Unreleased liquid went into a vessel in use, which is stopped. Do not use it before the batch is released."
        f" {TECHNICIAN}"
    ),
    "replenisher.other": (
        "What was added is not this bath's replenisher; the bath is stopped. Do not use it before a strip was run."
        f" {TECHNICIAN}"
    ),
    "vessel.overfull": (
        f"More went in than the vessel is made for. Check the volume and the vessel's code. {TECHNICIAN}"
    ),
    "approver.requester": (
        "The person who asked for this batch also approved it; the darkroom notes that."
        " Ask another technician or the instructor to approve the next one."
    ),
    "releaser.mixer": (
        "The person who mixed this batch also released it; the darkroom notes that."
        " Ask another technician or the instructor to release the next one."
    ),
    "mixer.unsigned": (
        "Who mixed it was not signed off for it at that time. Do not use it before an instructor has released it,"
        " and train them before they mix again. Ask the instructor."
    ),
    "mixer.lapsed": (
        "The mixer's sign-off ran out or was taken back between start and end. Do not use the batch before an"
        " instructor has released it. Ask the instructor."
    ),
    "mixer.will_lapse": (
        "Who asked for it will not be signed off on the day it is to be mixed."
        " Renew the sign-off before then, or let somebody mix it who is signed off. Ask the instructor."
    ),
    "mixer.minor": (
        "Somebody under age mixed it. Find out whether they breathed dust or have it on the skin; an instructor"
        " decides on the batch. Ask the instructor."
    ),
    # Who did it
    "test.unconfirmed": (
        "A member tested this bath, and nobody who looks after the room's chemistry has confirmed it."
        f" Test it again before it is relied on or poured away. {TECHNICIAN}"
    ),
    "person.not_inducted": (
        "No room induction was on record for that day. Go through it before the next session:"
        " the way out, the eye wash, the spill kit. Ask the instructor."
    ),
    "minor.concentrate": (
        "A minor handled undiluted concentrate. Pupils use ready-made working solutions; if any got on skin or into"
        " eyes, rinse with water now and tell an adult. Ask the instructor."
    ),
    "plan.not_own": (
        "The plan was made by somebody else and still keeps what it kept for them."
        f" If this was their tank, reverse this and enter it on their behalf. {TECHNICIAN}"
    ),
    "plan.over": (
        "The plan was used or given up before, so nothing was kept for this tank any more."
        f" Enter a tank only once; reverse this one if it is in twice. {TECHNICIAN}"
    ),
    "temperature.outside": (
        "It was too cold or too warm for this developer, so no time can be relied on."
        f" Look at the negatives before the next roll. {TECHNICIAN}"
    ),
}
_UNKNOWN = f"A rule was broken that has no words yet. Leave the vessel alone until somebody has looked. {TECHNICIAN}"


def worded(codes: Iterable[str]) -> list[dict[str, str]]:
    """Return flags as an answer shows them: the code for programs, the text for people."""
    return [{"code": code, "text": TEXTS.get(code, _UNKNOWN)} for code in codes]
