"""How long records are kept, by class and country, and when a consignee's return is due."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

READ, FROM_MEMORY = "read", "from memory"
NOTHING_SAYS = "no rule is kept here for this country: kept as the longest rule that is"


class Record(StrEnum):
    """What is kept."""

    WASTE_LOG = "waste log"
    CONSIGNMENT = "consignment note or manifest"
    TRANSPORT = "transporter's record"
    TRANSFER_NOTE = "transfer note of waste that is not hazardous"
    TEST_RESULT = "test result of a waste"
    EPISODE = "record of an episodic event"
    INSPECTION = "container inspection"


@dataclass(frozen=True)
class Rule:
    """Months a record is kept from the day it is counted from, by one country's rules."""

    record: Record
    country: str
    months: int
    counted_from: str
    source: str
    status: str


_WFD = "Directive 2008/98/EC, Article 35"
_ENGLAND = "producers' duties on hazardous waste, gov.uk"
_REMOVED = "the day the waste was removed"
RULES = (
    Rule(Record.WASTE_LOG, "EU", 36, _REMOVED, _WFD, READ),
    Rule(Record.CONSIGNMENT, "EU", 36, _REMOVED, _WFD, READ),
    Rule(Record.TRANSPORT, "EU", 12, "the day of the transport", _WFD, READ),
    Rule(Record.WASTE_LOG, "UK", 36, _REMOVED, _ENGLAND, READ),
    Rule(Record.CONSIGNMENT, "UK", 36, _REMOVED, _ENGLAND, READ),
    Rule(Record.TRANSPORT, "UK", 12, "the day of the transport", "hazardous waste regulations", FROM_MEMORY),
    Rule(Record.TRANSFER_NOTE, "UK", 24, "the day of the transfer", "SI 1991/2839, regulation 3", READ),
    Rule(Record.WASTE_LOG, "US", 36, _REMOVED, "40 CFR 262.40", FROM_MEMORY),
    Rule(Record.CONSIGNMENT, "US", 36, "the day the first carrier took it", "40 CFR 262.40", FROM_MEMORY),
    Rule(Record.TEST_RESULT, "US", 36, _REMOVED, "40 CFR 262.40", FROM_MEMORY),
    Rule(Record.EPISODE, "US", 36, "the end of the event", "40 CFR 262.233", READ),
)
LONGEST_MONTHS = max(rule.months for rule in RULES)


@dataclass(frozen=True)
class Kept:
    """Until when, that day included, and why. An inquiry under way lengthens it whatever this says."""

    until: date
    rule: Rule


def rule(record: Record, country: str) -> Rule:
    """Return the rule for a class of record; where none is kept, the longest of all, which is never too short."""
    found = next((each for each in RULES if (each.record, each.country) == (record, country)), None)
    return found or Rule(record, country, LONGEST_MONTHS, _REMOVED, NOTHING_SAYS, FROM_MEMORY)


def keep_until(record: Record, country: str, counted_from: date) -> Kept:
    """Return the first day a record need not be kept any more: months after the day it is counted from.

    Removed on 2026-11-25 in England: until 2029-11-25. Source: ``RULES``, each row with its own.
    """
    found = rule(record, country)
    return Kept(months_after(counted_from, found.months), found)


def months_after(day: date, months: int) -> date:
    """Return the same day so many months on; 29 February becomes 1 March, so that nothing is dropped early."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    try:
        return date(year, month + 1, day.day)
    except ValueError:
        return date(year + (month + 2) // 13, (month + 1) % 12 + 1, 1)


def return_due(removed: date) -> date:
    """Return when the consignee's return is due in England and Wales: the end of the month after the quarter.

    January to March by 30 April, and so on; the last by 31 January. Chase it in writing after. Source: SI 2005/894,
    regulation 53, read.
    """
    ends = (date(removed.year, 4, 30), date(removed.year, 7, 31), date(removed.year, 10, 31))
    quarter = (removed.month - 1) // 3
    return ends[quarter] if quarter < len(ends) else date(removed.year + 1, 1, 31)
