"""``verify`` says nothing differs after a term lived through, and exits with the rows that do."""

import io

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, transaction

from accounts.commands.tenancy import room
from accounts.models import Entry, Membership, RoleChange, SignOff
from chemistry.models import Batch, LineStep, Movement, SessionTray, Tally, Vessel
from darkroom_service.management.commands.verify import Command
from tests import make
from tests.chemistry.behind import forge, lived_once, unguarded
from waste.models import Container

term = lived_once
pytestmark = pytest.mark.django_db


def verified(*options):
    """Return the exit code and what is said."""
    out = io.StringIO()
    try:
        call_command("verify", *options, stdout=out)
    except CommandError as fault:
        return fault.returncode, [*out.getvalue().splitlines(), str(fault)]
    return 0, out.getvalue().splitlines()


def test_a_term_lived_through_is_proved(term):
    assert verified() == (0, ["darkrooms proved: 1; every total, balance, cost and chain follows from its ledger"])
    assert verified("--darkroom", term.room.slug)[0] == 0


def test_what_differs_is_named_and_counted_and_the_exit_says_so(term):
    forge(Vessel.objects.filter(pk=term.flask.pk), contents=1, load=2)
    code, (contents, load, count) = verified()
    assert code == 1
    assert contents.startswith(f"vessel {term.flask.code}: says 1 contents")
    assert load.startswith(f"vessel {term.flask.code}: says 2 load")
    assert count == "2 things differ"


def test_only_the_darkroom_asked_about_is_proved(term):
    elsewhere = make.room(make.account("Otto Orth")).darkroom
    forge(Vessel.objects.filter(pk=term.flask.pk), load=2)
    assert verified("--darkroom", elsewhere.slug)[0] == 0
    assert verified("--darkroom", term.room.slug)[0] == 1
    assert verified()[0] == 1


def test_a_darkroom_nobody_knows_is_another_failure(term):
    assert verified("--darkroom", "nowhere") == (2, ["there is no darkroom called nowhere"])


@pytest.mark.parametrize(("options", "code"), [([], 1), (["--darkroom", "nowhere"], 2)])
def test_the_program_ends_with_that_exit_code(term, monkeypatch, capsys, options, code):
    forge(Vessel.objects.filter(pk=term.flask.pk), load=2)
    monkeypatch.setattr("django.core.management.base.connections.close_all", lambda: None)
    with pytest.raises(SystemExit) as ended:
        Command().run_from_argv(["darkroom", "verify", *options])
    assert ended.value.code == code
    assert capsys.readouterr().err.startswith("CommandError: ")


def test_a_missing_trigger_is_named(term):
    unguarded(Movement)
    assert (
        "trigger append_only_chemistry_movement_update: missing, so rows could be changed; run migrate to put it back"
        in verified()[1]
    )


def test_a_container_that_holds_what_nobody_poured_is_named(term):
    forge(Container.objects.filter(pk=term.can.pk), contents=1)
    assert verified()[1][0].startswith(f"container {term.can.code}: says 0.1 mL, its fills add up to ")


def test_an_entry_that_was_altered_breaks_the_record_from_there(term):
    forge(Entry.objects.filter(pk=term.reuse.entry_id), status=200)
    assert f"{term.room.slug}: the record does not hold from entry {term.reuse.entry.seq} on" in verified()[1]


def test_a_gap_in_the_entries_breaks_the_record_from_there(term):
    last = Entry.objects.filter(darkroom=term.room).latest("seq")
    forge(Entry.objects.filter(pk=last.pk), seq=last.seq + 1)
    assert f"{term.room.slug}: the record does not hold from entry {last.seq} on" in verified()[1]


def test_a_row_that_points_to_nothing_is_named(term):
    unguarded(Entry)
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("DELETE FROM accounts_entry WHERE id = %s", [term.reuse.entry_id])
        assert any(line.startswith("a row points to nothing: ") for line in verified()[1])
        transaction.set_rollback(True)


def test_a_sign_off_by_its_own_trainee_is_named(term):
    sign_off = SignOff.objects.filter(trainee=term.ada).first()
    without_check("accounts_signoff", "sign_off_signer_is_not_trainee")
    forge(SignOff.objects.filter(pk=sign_off.pk), signer=term.ada)
    assert f"sign-off {sign_off.public_id}: is signed by its own trainee" in verified()[1]


def without_check(table, name):
    """Take a check off a table until the test is over."""
    connection.check_constraints()  # PostgreSQL alters no table with checks outstanding
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT {name}")
        else:
            cursor.execute("PRAGMA ignore_check_constraints = ON")


@pytest.fixture(autouse=True)
def checks():
    """Put the checks back on, where a test took them off."""
    yield
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA ignore_check_constraints = OFF")


def test_a_sign_off_by_somebody_who_did_not_hold_the_topic_is_named(term):
    sign_off = SignOff.objects.filter(trainee=term.ada).first()
    forge(SignOff.objects.filter(pk=sign_off.pk), signer=Membership.objects.get(darkroom=term.room, is_admin=True))
    assert f"sign-off {sign_off.public_id}: its signer did not hold the topic then" in verified()[1]


def test_a_role_that_nobody_gave_is_named(term):
    Membership.objects.filter(pk=term.ada.pk).update(is_instructor=True)
    assert verified()[1][0] == f"member {term.ada.public_id}: the role instructor is not what its last change says"


def test_a_role_whose_taking_was_rubbed_out_is_named(term):
    change = RoleChange.objects.get(membership=term.bo, role="technician")
    forge(RoleChange.objects.filter(pk=change.pk), held=False)
    assert f"member {term.bo.public_id}: the role technician is not what its last change says" in verified()[1]


@pytest.mark.parametrize(
    ("rows", "field", "words"),
    [
        (
            lambda term: Movement.objects.filter(entry=term.emptied.entry_id, target="container"),
            "source_vessel",
            "movement",
        ),
        (lambda term: LineStep.objects.filter(line=term.line, role="stop"), "vessel", "line step"),
        (lambda term: SessionTray.objects.filter(session=term.session, role="developer"), "vessel", "session tray"),
        (lambda term: Tally.objects.filter(pk=term.printed.pk), "member", "tally"),
        (lambda term: Batch.objects.filter(pk=term.bath.batch_id), "mixed_by", "batch"),
    ],
)
def test_a_row_that_points_into_another_darkroom_is_named(term, rows, field, words):
    founder = make.room(make.account("Otto Orth"))
    theirs = founder
    if "vessel" in field:
        theirs = Vessel.objects.create(
            darkroom=founder.darkroom, code="OTHER", name="theirs", nominal=1, material="glass"
        )
    found = rows(term)
    forge(found, **{field: theirs})
    assert any(
        line.startswith(f"{words} ") and line.endswith(f"its {field.replace('_', ' ')} is in another darkroom")
        for line in verified("--darkroom", term.room.slug)[1]
    )


def test_every_model_of_ours_that_belongs_to_a_darkroom_is_asked():
    ours = [model for app in ("accounts", "chemistry", "waste") for model in apps.get_app_config(app).get_models()]
    assert {model.__name__ for model in ours if room(model) is None} == {"Heartbeat", "Person", "Token"}
