"""Every act there is and who may do it: the whole permission table on one screen.

A grant names the roles; what else must hold (sign-off, second person, ownership) is judged in the command, noted here.
``report`` marks a report of something that physically happened: it is judged by the roles held now or at that time.
"""

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a membership may be; several at once, and none implies another."""

    MEMBER = "member"
    TECHNICIAN = "technician"
    INSTRUCTOR = "instructor"
    ADMIN = "admin"


class Act(StrEnum):
    """One thing somebody can do, as ``noun:verb``."""

    ACCUMULATION_READ = "accumulation:read"
    AIR_READ = "air:read"
    ASSESSMENT_READ = "assessment:read"
    BALANCE_READ = "balance:read"
    BATCH_APPROVE = "batch:approve"
    BATCH_CANCEL = "batch:cancel"
    BATCH_FIND = "batch:find"
    BATCH_MIX = "batch:mix"
    BATCH_READ = "batch:read"
    BATCH_RELEASE = "batch:release"
    BATCH_REQUEST = "batch:request"
    BATCH_WITHDRAW = "batch:withdraw"
    CHECK_IN_CREATE = "check-in:create"
    CHECK_IN_READ = "check-in:read"
    CHECK_IN_REVERSE = "check-in:reverse"
    CONTAINER_EDIT = "container:edit"
    CONTAINER_INSPECT = "container:inspect"
    CONTAINER_READ = "container:read"
    DARKROOM_CREATE = "darkroom:create"
    DARKROOM_EDIT = "darkroom:edit"
    DARKROOM_READ = "darkroom:read"
    DELIVERY_READ = "delivery:read"
    DELIVERY_RESEND = "delivery:resend"
    DOCUMENT_ADD = "document:add"
    DOCUMENT_READ = "document:read"
    DOCUMENT_REMOVE = "document:remove"
    DRAIN_READ = "drain:read"
    DRAIN_RELEASE = "drain:release"
    DRAIN_REVERSE = "drain:reverse"
    DRAIN_RULE_EDIT = "drain:rule-edit"
    FEED_EDIT = "feed:edit"
    FEED_READ = "feed:read"
    FILL_CREATE = "fill:create"
    FILL_READ = "fill:read"
    FILL_REVERSE = "fill:reverse"
    FORMULA_DRAFT = "formula:draft"
    FORMULA_PUBLISH = "formula:publish"
    FORMULA_READ = "formula:read"
    INCIDENT_READ = "incident:read"
    INCIDENT_REPORT = "incident:report"
    INCIDENT_RESOLVE = "incident:resolve"
    LINE_EDIT = "line:edit"
    LINE_READ = "line:read"
    MEMBER_EDIT = "member:edit"
    MEMBER_ENROL = "member:enrol"
    MEMBER_LEAVE = "member:leave"
    MEMBER_READ = "member:read"
    NOTICE_LEAD = "notice:lead"
    NOTICE_READ = "notice:read"
    OUTLOOK_READ = "outlook:read"
    PACK_DISCARD = "pack:discard"
    PACK_READ = "pack:read"
    PACK_RECEIVE = "pack:receive"
    PICKUP_CONFIRM = "pickup:confirm"
    PICKUP_CORRECT = "pickup:correct"
    PICKUP_PREPARE = "pickup:prepare"
    PICKUP_READ = "pickup:read"
    PLAN_CREATE = "plan:create"
    PLAN_READ = "plan:read"
    PREFERENCE_EDIT = "preference:edit"
    PREFERENCE_READ = "preference:read"
    SIGN_OFF_GRANT = "sign-off:grant"
    SIGN_OFF_READ = "sign-off:read"
    SIGN_OFF_REVOKE = "sign-off:revoke"
    STREAM_EDIT = "stream:edit"
    STREAM_READ = "stream:read"
    SUBSTANCE_OVERRIDE = "substance:override"
    SUBSTANCE_READ = "substance:read"
    TERM_BREAK_EDIT = "term-break:edit"
    TERM_BREAK_READ = "term-break:read"
    TEST_CREATE = "test:create"
    TEST_READ = "test:read"
    TEST_VOID = "test:void"
    TOPIC_EDIT = "topic:edit"
    TOPIC_READ = "topic:read"
    TRANSFER_CREATE = "transfer:create"
    TRANSFER_READ = "transfer:read"
    TRANSFER_REVERSE = "transfer:reverse"
    TRAY_SESSION_OPEN = "tray-session:open"
    TRAY_SESSION_READ = "tray-session:read"
    TRAY_SESSION_TALLY = "tray-session:tally"
    USAGE_READ = "usage:read"
    VESSEL_CREATE = "vessel:create"
    VESSEL_LEVEL = "vessel:level"
    VESSEL_LEVEL_REVERSE = "vessel:level-reverse"
    VESSEL_LIFT = "vessel:lift"
    VESSEL_READ = "vessel:read"
    VESSEL_RECALL = "vessel:recall"
    VESSEL_REPLENISH = "vessel:replenish"
    VESSEL_STOP = "vessel:stop"
    WASTE_LOG_DISCLOSE = "waste-log:disclose"
    WASTE_LOG_READ = "waste-log:read"
    WEBHOOK_EDIT = "webhook:edit"
    WEBHOOK_READ = "webhook:read"


@dataclass(frozen=True)
class Grant:
    """Roles that may do an act, whether it is a report, and the note that stands beside it in the table."""

    roles: frozenset[Role]
    note: str = ""
    report: bool = False


M, T, I, A = Role.MEMBER, Role.TECHNICIAN, Role.INSTRUCTOR, Role.ADMIN  # noqa: E741 - the columns of the table


def may(*roles: Role, note: str = "", report: bool = False) -> Grant:
    """Return a grant to these roles."""
    return Grant(frozenset(roles), note, report)


GRANTS: dict[Act, Grant] = {
    Act.ACCUMULATION_READ: may(T, I, A),
    Act.AIR_READ: may(M, T, I, A),
    Act.ASSESSMENT_READ: may(M, T, I, A),
    Act.BALANCE_READ: may(T, I, A),
    Act.BATCH_APPROVE: may(T, I, note="approver != requester, by the darkroom's second-person setting"),
    Act.BATCH_CANCEL: may(M, T, I, note="before mixing; a member only an own request"),
    Act.BATCH_FIND: may(T, I, note="mixed without approval or sign-off; an instructor releases it", report=True),
    Act.BATCH_MIX: may(M, T, I, note="the sign-offs decide; a minor never handles powder"),
    Act.BATCH_READ: may(M, T, I, A),
    Act.BATCH_RELEASE: may(T, I, note="releaser != mixer, by setting; passed test where the formula asks"),
    Act.BATCH_REQUEST: may(M, T, I),
    Act.BATCH_WITHDRAW: may(T, I, A, report=True),
    Act.CHECK_IN_CREATE: may(M, T, I, note="for oneself; on behalf of others: technician, instructor", report=True),
    Act.CHECK_IN_READ: may(M, T, I, A, note="members and admins: own rows"),
    Act.CHECK_IN_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.CONTAINER_EDIT: may(T, I),
    Act.CONTAINER_INSPECT: may(T, I, A, report=True),
    Act.CONTAINER_READ: may(M, T, I, A),
    Act.DARKROOM_CREATE: may(M, T, I, A, note="any account; the creator becomes admin"),
    Act.DARKROOM_EDIT: may(A),
    Act.DARKROOM_READ: may(M, T, I, A),
    Act.DELIVERY_READ: may(A),
    Act.DELIVERY_RESEND: may(A, note="what was given up after the last try"),
    Act.DOCUMENT_ADD: may(T, I, A),
    Act.DOCUMENT_READ: may(T, I, A),
    Act.DOCUMENT_REMOVE: may(A, note="only past its retention, reason required"),
    Act.DRAIN_READ: may(M, T, I, A),
    Act.DRAIN_RELEASE: may(M, T, I, note="as a plan only under the drain rule", report=True),
    Act.DRAIN_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.DRAIN_RULE_EDIT: may(A),
    Act.FEED_EDIT: may(M, T, I, A, note="own calendar address"),
    Act.FEED_READ: may(M, T, I, A, note="own calendar address"),
    Act.FILL_CREATE: may(M, T, I, report=True),
    Act.FILL_READ: may(T, I, A),
    Act.FILL_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.FORMULA_DRAFT: may(T, I),
    Act.FORMULA_PUBLISH: may(I, note="publisher != drafter where two are eligible"),
    Act.FORMULA_READ: may(M, T, I, A),
    Act.INCIDENT_READ: may(M, T, I, A),
    Act.INCIDENT_REPORT: may(M, T, I, A, report=True),
    Act.INCIDENT_RESOLVE: may(T, I),
    Act.LINE_EDIT: may(T, I),
    Act.LINE_READ: may(M, T, I, A),
    Act.MEMBER_EDIT: may(A, note="never one's own role upward; never the last admin away"),
    Act.MEMBER_ENROL: may(A, I, note="instructors enrol members only"),
    Act.MEMBER_LEAVE: may(M, T, I, A, note="oneself; an admin anybody; never the last admin"),
    Act.MEMBER_READ: may(M, T, I, A, note="members see display names; minors as initials"),
    Act.NOTICE_LEAD: may(A, note="how early the darkroom is told of what is due"),
    Act.NOTICE_READ: may(M, T, I, A, note="own inbox"),
    Act.OUTLOOK_READ: may(T, I, A),
    Act.PACK_DISCARD: may(T, I, A, report=True),
    Act.PACK_READ: may(M, T, I, A),
    Act.PACK_RECEIVE: may(T, I, A),
    Act.PICKUP_CONFIRM: may(T, I, A, note="confirmer != preparer, by the darkroom's second-person setting"),
    Act.PICKUP_CORRECT: may(T, I, A, note="a report of what really left; reason required"),
    Act.PICKUP_PREPARE: may(T, I, A),
    Act.PICKUP_READ: may(T, I, A),
    Act.PLAN_CREATE: may(M, T, I),
    Act.PLAN_READ: may(M, T, I, note="own; technician and instructor: all"),
    Act.PREFERENCE_EDIT: may(M, T, I, A, note="own"),
    Act.PREFERENCE_READ: may(M, T, I, A, note="own"),
    Act.SIGN_OFF_GRANT: may(I, A, note="signer holds the topic and is not the trainee; admin: first of a topic only"),
    Act.SIGN_OFF_READ: may(M, T, I, A, note="members: own; technician, admin: topic and standing only"),
    Act.SIGN_OFF_REVOKE: may(M, T, I, A, note="instructor any; admin suspends; others give up their own"),
    Act.STREAM_EDIT: may(T, I, A),
    Act.STREAM_READ: may(M, T, I, A),
    Act.SUBSTANCE_OVERRIDE: may(I, A, note="source and reason required"),
    Act.SUBSTANCE_READ: may(M, T, I, A),
    Act.TERM_BREAK_EDIT: may(I, A),
    Act.TERM_BREAK_READ: may(M, T, I, A),
    Act.TEST_CREATE: may(M, T, I, A, note="a member's is a doubt at most, and releases nothing", report=True),
    Act.TEST_READ: may(M, T, I, A),
    Act.TEST_VOID: may(I, note="not the recorder, nor the mixer where it lifts a stop; reason required"),
    Act.TOPIC_EDIT: may(I),
    Act.TOPIC_READ: may(M, T, I, A),
    Act.TRANSFER_CREATE: may(M, T, I, note="members: own vessel, or emptying a used bath", report=True),
    Act.TRANSFER_READ: may(M, T, I, A),
    Act.TRANSFER_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.TRAY_SESSION_OPEN: may(M, T, I, note="members: adults with room induction; closed by who opened it or staff"),
    Act.TRAY_SESSION_READ: may(M, T, I, A),
    Act.TRAY_SESSION_TALLY: may(M, T, I, report=True),
    Act.USAGE_READ: may(M, T, I, A, note="members: own; admin: totals"),
    Act.VESSEL_CREATE: may(M, T, I, note="a member only a bottle of their own"),
    Act.VESSEL_LEVEL: may(M, T, I, report=True),
    Act.VESSEL_LEVEL_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.VESSEL_LIFT: may(T, I, note="lifter != mixer, reason required; a failed test is never lifted"),
    Act.VESSEL_READ: may(M, T, I, A),
    Act.VESSEL_RECALL: may(T, I, A, note="tells who used it since its last good test; shows who has read it"),
    Act.VESSEL_REPLENISH: may(M, T, I, report=True),
    Act.VESSEL_STOP: may(M, T, I, A, note="anyone; a minor once until lifted", report=True),
    Act.WASTE_LOG_DISCLOSE: may(A, note="names instead of pseudonyms; reason required"),
    Act.WASTE_LOG_READ: may(T, I, A, note="people by pseudonym"),
    Act.WEBHOOK_EDIT: may(A),
    Act.WEBHOOK_READ: may(A),
}


def table() -> str:
    """Return the whole table in Markdown, as it stands in DEVELOPERS.md."""
    lines = [f"| act | {' | '.join(Role)} | note |", "|---" * (len(Role) + 2) + "|"]
    for act, grant in GRANTS.items():
        cells = " | ".join("yes" if role in grant.roles else "-" for role in Role)
        note = "; ".join(part for part in ("a report" if grant.report else "", grant.note) if part)
        lines.append(f"| `{act}` | {cells} | {note} |")
    return "\n".join(lines) + "\n"
