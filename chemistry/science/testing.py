"""The three tests of a bath, each with its criterion: pass, fail, or no verdict when nothing can be compared."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from chemistry.science.verdict import ALLOWED, Verdict, refused


class Outcome(StrEnum):
    """What a test says. A bath that fails is stopped; no verdict leaves everything as it was."""

    PASS = "pass"  # noqa: S105 - an answer, not a password
    FAIL = "fail"
    NONE = "no_verdict"


@dataclass(frozen=True)
class Finding:
    """A test's outcome and why; a clearing test also gives its ratio to fresh and the fixing time it asks for."""

    outcome: Outcome
    reason: str
    ratio: Decimal | None = None
    fix_time_s: Decimal | None = None


def judge_clip(
    *,
    density: Decimal | None = None,
    release_density: Decimal | None = None,
    matches: bool | None = None,
    tolerance: Decimal = Decimal("0.10"),
) -> Finding:
    """A leader strip in room light against the strip made at release: |D - D_release| <= tolerance, or a match by eye.

    Densities as the densitometer reads them; what is not known is left None. If both are told, both must pass. Source:
    common practice, no source (0.10).
    """
    seen = [] if matches is None else [(matches, f"{'matches' if matches else 'does not match'} by eye")]
    if density is not None and release_density is not None:
        apart = abs(density - release_density)
        seen.append((apart <= tolerance, f"density {apart} from the release strip, {tolerance} allowed"))
    if not seen:
        return Finding(Outcome.NONE, "no release strip to compare with: match by eye or measure both strips")
    return _together(seen)


def judge_reference(
    *, density: Decimal | None = None, matches: bool | None = None, lowest: Decimal = Decimal("1.00")
) -> Finding:
    """The leader strip made at release, which later ones are compared with: D >= lowest, or like an earlier batch's.

    If both are told, both must pass. Source: our choice (a leader in room light goes black; 1.00 lets a tenth through).
    """
    seen = [] if matches is None else [(matches, f"{'matches' if matches else 'does not match'} an earlier strip")]
    if density is not None:
        seen.append((density >= lowest, f"density {density}, at least {lowest} of a strip that was in room light"))
    if not seen:
        return Finding(Outcome.NONE, "nothing to judge by: measure the strip, or compare it with an earlier batch's")
    return _together(seen)


def judge_clearing(fresh_s: Decimal, now_s: Decimal, *, same_film: bool, fail_ratio: Decimal = Decimal(2)) -> Finding:
    """A fixer by the seconds it takes to clear film: fails at ``fail_ratio`` x fresh; fix for twice the present time.

    Only readings on the same film compare, since emulsions differ. Valid for times above 0. Source: US Navy
    photography course, Life of a Fixing Bath (twice); photrio.com thread 61690 (same film; some use three times).
    """
    if fresh_s <= 0 or now_s <= 0:
        return Finding(Outcome.NONE, "both clearing times must be above 0 s: clear a strip and time it")
    if not same_film:
        return Finding(Outcome.NONE, "not comparable: the fresh reading was made on another film; use the same film")
    ratio = (now_s / fresh_s).quantize(Decimal("0.0001"))
    failed = now_s >= fail_ratio * fresh_s
    reason = f"clears in {now_s} s against {fresh_s} s fresh; fails at {fail_ratio} times fresh"
    return Finding(Outcome.FAIL if failed else Outcome.PASS, reason, ratio, 2 * now_s)


def judge_stop(
    *, indicator_ok: bool | None = None, ph: Decimal | None = None, highest_ph: Decimal | None = None
) -> Finding:
    """A stop bath by its indicator's colour or its pH: fails when the colour has turned or pH > ``highest_ph``.

    If both are told, both must pass. Source: from memory (indicator yellow below pH 5.2, purple above 6.8; plain stop
    until about pH 6).
    """
    seen = [] if indicator_ok is None else [(indicator_ok, f"indicator {'unchanged' if indicator_ok else 'turned'}")]
    if ph is not None and highest_ph is not None:
        seen.append((ph <= highest_ph, f"pH {ph}, {highest_ph} at most"))
    if not seen:
        return Finding(Outcome.NONE, "nothing to judge by: look at the indicator, or measure pH against a known limit")
    return _together(seen)


def judge_bath(share_used: Fraction, test: Finding | None, *, override: bool = False) -> Verdict:
    """Whether a bath may still be planned with: count and test each stop it; the test overrides the count only to fail.

    ``share_used`` is load / capacity. Past its count a bath needs a person's override with a passed test attached.
    Source: US Navy photography course, Life of a Fixing Bath; the override is our choice.
    """
    if test is not None and test.outcome is Outcome.FAIL:
        return refused("bath.failed", f"Its test failed: {test.reason}.", "pour it away and make a fresh bath")
    passed = test is not None and test.outcome is Outcome.PASS
    if share_used < 1 or (override and passed):
        return ALLOWED
    return refused(
        "bath.exhausted",
        f"It has done {int(share_used * 100)} % of its count.",
        "make a fresh bath",
        "a technician may record an override with a passed test attached",
    )


def _together(seen: list[tuple[bool, str]]) -> Finding:
    outcome = Outcome.PASS if all(passed for passed, _ in seen) else Outcome.FAIL
    return Finding(outcome, "; ".join(words for _, words in seen))
