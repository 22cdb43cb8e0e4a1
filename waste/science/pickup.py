"""When the signed copy of a waste paper should be back."""

from datetime import date, timedelta

from waste.science.retention import return_due

US_DAYS = 60
REMINDER_DAYS = 30


def copy_due(rules: str, collected: date) -> date:
    """Return the day by which the copy of a pickup's paper should be back; after it somebody asks for it.

    ``rules`` is EU, UK, US or none. UK: the consignee's quarterly return (SI 2005/894 reg. 53, as made, read).
    US: 60 days, after which a small quantity generator files an exception report (40 CFR 262.42(b), from memory).
    EU and none: no one date binds everywhere; 30 days is a reminder only (common practice, no source).
    """
    if rules == "UK":
        return return_due(collected)
    return collected + timedelta(days=US_DAYS if rules == "US" else REMINDER_DAYS)
