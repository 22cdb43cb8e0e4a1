from datetime import UTC, datetime, timedelta

from accounts.acts import Act, Role
from accounts.commands import notice
from accounts.commands.entry import Work
from accounts.models import Notice
from darkroom_service import clock
from tests import make


def work(by, at=None):
    at = at or clock.now()
    return Work(by.darkroom, by, None, Act.VESSEL_STOP, 99, at, at)


def post(by, *, at=None, subject="vessel:1", text="Fixer 2 stopped.", **to):
    notice.post_locked(work(by, at), kind="vessel-stopped", subject=subject, text=text, path="vessels/1", **to)


def told(**filters):
    return set(Notice.objects.filter(**filters).values_list("to", flat=True))


def test_all_active_holders_of_a_role_are_told_and_nobody_else(client_for, di, ada, bo, eli, outsider):
    client_for(di).post(f"members/{eli.public_id}/departure")
    make.member(outsider, Role.TECHNICIAN)
    post(ada, to_roles=(Role.TECHNICIAN, Role.ADMIN))
    assert told() == {bo.pk, di.pk}


def test_named_members_are_told_but_not_those_who_have_left(client_for, di, ada, bo):
    client_for(di).post(f"members/{bo.public_id}/departure")
    post(di, to=[ada, make.refreshed(bo)])
    assert told() == {ada.pk}


def test_who_is_named_and_holds_the_role_is_told_once(ada, bo):
    post(ada, to_roles=(Role.TECHNICIAN,), to=[bo])
    assert Notice.objects.count() == 1


def test_the_same_thing_is_told_once_in_a_local_day_and_again_the_next(ada, bo):
    late = datetime(2026, 11, 25, 22, 30, tzinfo=UTC)  # 23:30 in Berlin
    for minutes in (0, 10, 40):
        post(ada, to=[bo], at=late + timedelta(minutes=minutes))
    assert [str(day) for day in Notice.objects.order_by("id").values_list("due_on", flat=True)] == [
        "2026-11-25",
        "2026-11-26",
    ]


def test_a_text_longer_than_the_inbox_keeps_is_cut(ada, bo):
    post(ada, to=[bo], text="a" * 1000 + "b")
    assert Notice.objects.get().text == "a" * 1000


def test_telling_many_takes_the_same_few_statements_however_many(di, ada, django_assert_num_queries):
    for _ in range(5):
        make.member(di, Role.TECHNICIAN)
    with django_assert_num_queries(4):  # who; the rows; which are new; what must leave the inbox
        post(ada, to_roles=(Role.TECHNICIAN,), to=[ada])
    assert Notice.objects.count() == 6


def test_an_inbox_is_ones_own(client_for, ada, bo, di):
    post(di, to=[ada])
    (item,) = client_for(ada).get("notices").json()["items"]
    assert (item["kind"], item["text"], item["read_at"]) == ("vessel-stopped", "Fixer 2 stopped.", None)
    assert client_for(bo).get("notices").json()["items"] == []
    assert client_for(bo).post(f"notices/{item['id']}/reading").status_code == 404


def test_reading_is_noted_once_and_needs_no_key(client_for, ada, di):
    post(di, to=[ada])
    client, row = client_for(ada), Notice.objects.get()
    address = f"notices/{row.public_id}/reading"
    with clock.fixed(datetime(2026, 11, 25, 12, tzinfo=UTC)) as first:
        assert client.post(address, HTTP_IDEMPOTENCY_KEY="").status_code == 204
    client.post(address)
    assert make.refreshed(row).read_at == first


def test_listing_notices_takes_the_same_queries_however_many_there_are(client_for, ada, di, django_assert_num_queries):
    client = client_for(ada)
    for number in range(4):
        post(di, to=[ada], subject=f"vessel:{number}")
    with django_assert_num_queries(3):
        assert len(client.get("notices").json()["items"]) == 4
