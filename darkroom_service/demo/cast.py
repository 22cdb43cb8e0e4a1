"""Who is in the play: the school's darkroom, its people and what they are signed off for."""

import os
from datetime import date

from accounts.acts import Role
from accounts.commands import darkroom, membership, person, signoff
from accounts.models import Darkroom, Membership, Person
from darkroom_service.demo.stage import SLUG, ZONE, Stage, found

EMERGENCY = (
    "Eyes or skin: rinse at once under the tap by the door, fifteen minutes, and call for help. "
    "Spill: gloves, wipe it up wet. Somebody is hurt: 112, then the school office on 100. "
    "The supplier's safety data sheets hang in the red folder."
)
SETTINGS = {
    "name": "Mirefield School Darkroom", "zone": ZONE, "country_rules": "EU", "currency": "EUR",
    "emergency_text": EMERGENCY, "second_person_mixing": "required", "second_person_release": "required",
    "tank_sizes": [3000, 4730, 6000, 9460, 10000, 15000], "room_volume": 4800, "air_changes": 400,
}  # fmt: skip
PEOPLE = {
    "admin": ("Petra Quill", frozenset({Role.MEMBER})),
    "instructor": ("Anselm Rook", frozenset({Role.MEMBER, Role.INSTRUCTOR})),
    "technician": ("Ines Vane", frozenset({Role.MEMBER, Role.TECHNICIAN})),
    "technician-two": ("Tobias Fenn", frozenset({Role.MEMBER, Role.TECHNICIAN})),
    "member": ("Juno Hale", frozenset({Role.MEMBER})),
    "pupil-one": ("Mila Oskar", frozenset({Role.MEMBER})),
    "pupil-two": ("Theo Brandt", frozenset({Role.MEMBER})),
    "pupil-three": ("Noor Sayid", frozenset({Role.MEMBER})),
}
PUPILS = tuple(name for name in PEOPLE if name.startswith("pupil"))
BASICS = ("room-induction", "ppe")
POWDER = "powder-handling"


def enter(stage: Stage) -> None:
    """Open the darkroom, let everybody in and have them signed off."""
    password = os.environ.get("DEMO_PASSWORD", "")
    for username, (name, _) in PEOPLE.items():
        stage.people[username] = _account(username, name, password).pk
    stage.day(0, "09:00")
    room = stage.act("admin", darkroom.create, slug=SLUG, settings=dict(SETTINGS))
    stage.darkroom_id = found(Darkroom, room).pk
    stage.members["admin"] = Membership.objects.get(darkroom=stage.darkroom_id, person=stage.people["admin"]).public_id
    for username, (_, roles) in PEOPLE.items():
        if username != "admin":
            _enrol(stage, username, roles)
    _sign_off(stage)


def _account(username: str, name: str, password: str) -> Person:
    known = Person.objects.filter(username=username).first()
    return known or person.open_account(username=username, name=name, password=password or None)


def _enrol(stage: Stage, username: str, roles: frozenset[Role]) -> None:
    who = Person.objects.get(pk=stage.people[username]).public_id
    minor_until = date(stage.first.year + 2, 8, 1) if username in PUPILS else None
    stage.members[username] = stage.act("admin", membership.enrol, who, roles=roles, minor_until=minor_until)


def _sign_off(stage: Stage) -> None:
    """The first holder of the topics is recorded by the admin; she signs nobody else off, the instructor does."""
    stage.day(0, "10:00")
    course = "Certificate of the county's course on school laboratories seen, dated last June"
    _signed(stage, "admin", ("instructor",), (*BASICS, POWDER), course)
    stage.day(1, "15:00")
    _signed(stage, "instructor", ("technician", "technician-two"), (*BASICS, POWDER), "Mixed a practice packet of salt")
    _signed(stage, "instructor", ("member", *PUPILS), BASICS, "Walked through the room and its rules")


def _signed(stage: Stage, who: str, trainees: tuple[str, ...], topics: tuple[str, ...], evidence: str) -> None:
    members = tuple(stage.members[each] for each in trainees)
    stage.acted(who, signoff.grant, signoff.Training(members, topics, evidence=evidence))
