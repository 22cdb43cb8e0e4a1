"""Who there is, what they may do, and the record of every act."""

from accounts.models.darkroom import Darkroom, Head, SecondPerson
from accounts.models.delivery import Channel, Delivery, DeliveryState
from accounts.models.entry import Entry
from accounts.models.feed import Feed
from accounts.models.heartbeat import Heartbeat, Pulse
from accounts.models.membership import Membership, RoleChange
from accounts.models.notice import Notice, NoticeLead, NoticeLook, NoticeMute
from accounts.models.person import Person
from accounts.models.preference import Mailing, Preference
from accounts.models.signoff import Revocation, SignOff, Topic, TopicVersion
from accounts.models.token import Token
from accounts.models.webhook import Webhook

__all__ = [
    "Channel",
    "Darkroom",
    "Delivery",
    "DeliveryState",
    "Entry",
    "Feed",
    "Head",
    "Heartbeat",
    "Mailing",
    "Membership",
    "Notice",
    "NoticeLead",
    "NoticeLook",
    "NoticeMute",
    "Person",
    "Preference",
    "Pulse",
    "Revocation",
    "RoleChange",
    "SecondPerson",
    "SignOff",
    "Token",
    "Topic",
    "TopicVersion",
    "Webhook",
]
