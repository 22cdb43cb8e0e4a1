"""Who there is, what they may do, and the record of every act."""

from accounts.models.darkroom import Darkroom, Head, SecondPerson
from accounts.models.entry import Entry
from accounts.models.membership import Membership, RoleChange
from accounts.models.notice import Notice
from accounts.models.person import Person
from accounts.models.signoff import Revocation, SignOff, Topic, TopicVersion
from accounts.models.token import Token

__all__ = [
    "Darkroom",
    "Entry",
    "Head",
    "Membership",
    "Notice",
    "Person",
    "Revocation",
    "RoleChange",
    "SecondPerson",
    "SignOff",
    "Token",
    "Topic",
    "TopicVersion",
]
