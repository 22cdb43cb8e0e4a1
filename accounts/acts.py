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
    CONTAINER_READ = "container:read"
    DARKROOM_CREATE = "darkroom:create"
    DARKROOM_EDIT = "darkroom:edit"
    DARKROOM_READ = "darkroom:read"
    FILL_CREATE = "fill:create"
    FILL_READ = "fill:read"
    FILL_REVERSE = "fill:reverse"
    FORMULA_DRAFT = "formula:draft"
    FORMULA_PUBLISH = "formula:publish"
    FORMULA_READ = "formula:read"
    LINE_EDIT = "line:edit"
    LINE_READ = "line:read"
    MEMBER_EDIT = "member:edit"
    MEMBER_ENROL = "member:enrol"
    MEMBER_LEAVE = "member:leave"
    MEMBER_READ = "member:read"
    NOTICE_READ = "notice:read"
    PACK_DISCARD = "pack:discard"
    PACK_READ = "pack:read"
    PACK_RECEIVE = "pack:receive"
    PLAN_CREATE = "plan:create"
    PLAN_READ = "plan:read"
    SIGN_OFF_GRANT = "sign-off:grant"
    SIGN_OFF_READ = "sign-off:read"
    SIGN_OFF_REVOKE = "sign-off:revoke"
    STREAM_EDIT = "stream:edit"
    STREAM_READ = "stream:read"
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
    VESSEL_REPLENISH = "vessel:replenish"
    VESSEL_STOP = "vessel:stop"


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
    Act.CONTAINER_READ: may(M, T, I, A),
    Act.DARKROOM_CREATE: may(M, T, I, A, note="any account; the creator becomes admin"),
    Act.DARKROOM_EDIT: may(A),
    Act.DARKROOM_READ: may(M, T, I, A),
    Act.FILL_CREATE: may(M, T, I, report=True),
    Act.FILL_READ: may(T, I, A),
    Act.FILL_REVERSE: may(M, T, I, note="the author at any time; else technician, instructor"),
    Act.FORMULA_DRAFT: may(T, I),
    Act.FORMULA_PUBLISH: may(I, note="publisher != drafter where two are eligible"),
    Act.FORMULA_READ: may(M, T, I, A),
    Act.LINE_EDIT: may(T, I),
    Act.LINE_READ: may(M, T, I, A),
    Act.MEMBER_EDIT: may(A, note="never one's own role upward; never the last admin away"),
    Act.MEMBER_ENROL: may(A, I, note="instructors enrol members only"),
    Act.MEMBER_LEAVE: may(M, T, I, A, note="oneself; an admin anybody; never the last admin"),
    Act.MEMBER_READ: may(M, T, I, A, note="members see display names; minors as initials"),
    Act.NOTICE_READ: may(M, T, I, A, note="own inbox"),
    Act.PACK_DISCARD: may(T, I, A, report=True),
    Act.PACK_READ: may(M, T, I, A),
    Act.PACK_RECEIVE: may(T, I, A),
    Act.PLAN_CREATE: may(M, T, I),
    Act.PLAN_READ: may(M, T, I, note="own; technician and instructor: all"),
    Act.SIGN_OFF_GRANT: may(I, A, note="signer holds the topic and is not the trainee; admin: first of a topic only"),
    Act.SIGN_OFF_READ: may(M, T, I, A, note="members: own; technician, admin: topic and standing only"),
    Act.SIGN_OFF_REVOKE: may(M, T, I, A, note="instructor any; admin suspends; others give up their own"),
    Act.STREAM_EDIT: may(T, I, A),
    Act.STREAM_READ: may(M, T, I, A),
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
    Act.VESSEL_REPLENISH: may(M, T, I, report=True),
    Act.VESSEL_STOP: may(M, T, I, A, note="anyone; a minor once until lifted", report=True),
}


def table() -> str:
    """Return the whole table in Markdown, as it stands in DEVELOPERS.md."""
    lines = [f"| act | {' | '.join(Role)} | note |", "|---" * (len(Role) + 2) + "|"]
    for act, grant in GRANTS.items():
        cells = " | ".join("yes" if role in grant.roles else "-" for role in Role)
        note = "; ".join(part for part in ("a report" if grant.report else "", grant.note) if part)
        lines.append(f"| `{act}` | {cells} | {note} |")
    return "\n".join(lines) + "\n"
