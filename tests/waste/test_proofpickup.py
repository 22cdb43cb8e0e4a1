"""What ``verify`` says of pickups and files that do not hold."""

import pytest

from tests.waste.pail import can
from tests.waste.test_document import PDF, send
from tests.waste.test_pickup import confirmed, ready
from waste.commands.proofpickup import differences
from waste.models import Content, PickupItem

pytestmark = pytest.mark.django_db


def test_sound_pickups_and_files_give_no_line_and_what_was_altered_is_named(client_for, bo, eli, outsider):
    held = can(bo)
    row = confirmed(eli, ready(bo, held))
    send(client_for(bo), row, "note.pdf", PDF)
    assert list(differences()) == []
    PickupItem.objects.filter(pickup=row).update(open=True)
    kept = Content.objects.get()
    Content.objects.update(data=b"something else")
    said = [
        f"pickup {row.code}: whether it holds container {held.code} does not follow from its state",
        f"file {kept.sha256}: its bytes are not those of its digest",
    ]
    assert list(differences()) == said
    assert list(differences(bo.darkroom_id)) == said
    assert list(differences(outsider.darkroom_id)) == []
    Content.objects.all().delete()
    assert list(differences())[1].endswith("its file is missing")


def test_it_asks_the_same_number_of_questions_however_many_documents_there_are(
    client_for, bo, eli, django_assert_num_queries
):
    row = confirmed(eli, ready(bo, can(bo)))
    for name in ("note.pdf", "copy.pdf", "again.pdf"):
        send(client_for(bo), row, name, PDF)
        with django_assert_num_queries(5):
            assert list(differences()) == []
