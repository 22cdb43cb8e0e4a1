from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from accounts.acts import Role
from accounts.models import Entry, SignOff
from accounts.models.signoff import missing_topics, topics_held
from darkroom_service import clock
from darkroom_service.localday import day_of, end_of
from tests import make

POWDER = "powder-handling"
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def at_noon():
    with clock.fixed(NOON):
        yield


def sign(client, *members, topics=(POWDER,), **more):
    body = {"members": [str(member.public_id) for member in members], "topics": list(topics), **more}
    return client.post("sign-offs", body)


def later(**time):
    return clock.fixed(NOON + timedelta(**time))


def test_an_instructor_who_holds_the_topics_signs_a_whole_class_off_in_one_entry(client_for, cy, ada, bo):
    seq = Entry.objects.latest("seq").seq
    answer = sign(client_for(cy), ada, bo, topics=["ppe", POWDER])
    assert answer.status_code == 201, answer.json()
    assert len(answer.json()["sign_offs"]) == 4
    assert Entry.objects.latest("seq").seq == seq + 1
    for member in (ada, bo):
        assert topics_held(member, ["ppe", POWDER, "room-induction"], NOON) == {"ppe", POWDER}


def test_the_record_of_a_sign_off_holds_no_name(client_for, cy, ada):
    sign(client_for(cy), ada)
    assert "Ada" not in Entry.objects.latest("seq").answer


def test_a_repeated_sign_off_is_recorded_once(client_for, cy, ada):
    client, key = client_for(cy), uuid4()
    body = {"members": [str(ada.public_id)], "topics": [POWDER]}
    first, again = client.post("sign-offs", body, key), client.post("sign-offs", body, key)
    assert (again.status_code, again.content) == (201, first.content)
    assert SignOff.objects.filter(trainee=ada).count() == 1


def test_members_and_topics_named_twice_count_once(client_for, cy, ada):
    sign(client_for(cy), ada, ada, topics=[POWDER, POWDER])
    assert SignOff.objects.filter(trainee=ada).count() == 1


def test_nobody_signs_themselves_off_not_even_among_others(client_for, cy, ada):
    answer = sign(client_for(cy), ada, cy)
    assert (answer.status_code, answer.json()["code"]) == (403, "sign-off.own")
    assert not SignOff.objects.filter(trainee=ada).exists()


def test_an_instructor_without_the_topic_signs_nobody_off_in_it(client_for, di, cy, ada):
    other = make.member(di, Role.INSTRUCTOR)
    make.signed_off(cy, other, "ppe")
    answer = sign(client_for(other), ada, topics=["ppe", POWDER])
    assert (answer.status_code, answer.json()["code"]) == (403, "topic.not_held")
    assert answer.json()["facts"]["topics"] == [POWDER]
    assert sign(client_for(other), ada, topics=["ppe"]).status_code == 201


def test_an_instructor_whose_own_sign_off_ran_out_signs_nobody_off(client_for, di, cy, bo, ada):
    with later(days=300):
        make.signed_off(cy, bo, POWDER)
    with later(days=366):
        assert sign(client_for(cy), ada).json()["code"] == "topic.not_held"


def test_a_holder_who_is_no_instructor_signs_nobody_off(client_for, cy, bo, ada):
    make.signed_off(cy, bo)
    assert sign(client_for(bo), ada).status_code == 403


def test_an_admin_who_holds_the_topic_but_is_no_instructor_signs_nobody_off(client_for, di, cy, ada):
    make.signed_off(cy, di)
    answer = sign(client_for(di), ada, evidence="course")
    assert (answer.status_code, answer.json()["code"]) == (403, "topic.not_held")


def test_a_topic_or_member_of_another_darkroom_is_unknown_just_like_one_that_never_was(client_for, cy, ada, outsider):
    client = client_for(cy)
    answers = [sign(client, ada, outsider), client.post("sign-offs", {"members": [str(uuid4())], "topics": [POWDER]})]
    assert [answer.status_code for answer in answers] == [400, 400]
    assert answers[0].json()["errors"][0]["pointer"] == "/members/1"
    assert answers[0].json()["detail"] == answers[1].json()["detail"]
    assert sign(client, ada, topics=["ppe", "no-such"]).json()["errors"][0]["pointer"] == "/topics/1"


def test_who_has_left_cannot_be_signed_off(client_for, di, cy, ada):
    client_for(di).post(f"members/{ada.public_id}/departure")
    assert sign(client_for(cy), ada).json()["errors"][0]["pointer"] == "/members/0"


def test_where_nobody_holds_a_topic_an_admin_records_outside_training_for_a_year_at_most(client_for, di, ada, room):
    answer = sign(client_for(di), ada, topics=["room-induction"], evidence="course at the college, 3 May")
    assert answer.status_code == 201
    row = SignOff.objects.get(trainee=ada)
    assert row.outside_training
    # 24 months is the topic's own maximum; outside training is cut to 12
    assert row.expires_at == end_of(date(2027, 11, 25), room.zone)


def test_outside_training_needs_words_on_what_shows_it(client_for, di, ada):
    answer = sign(client_for(di), ada)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/evidence")


def test_an_admin_records_no_outside_training_of_their_own(client_for, di):
    assert sign(client_for(di), di, evidence="course").json()["code"] == "sign-off.own"


def test_an_admin_records_the_first_holder_only(client_for, di, ada, bo):
    client = client_for(di)
    assert sign(client, ada, bo, evidence="course").json()["code"] == "topic.without_holder"
    assert sign(client, ada, evidence="course").status_code == 201
    answer = sign(client, bo, evidence="course")
    assert (answer.status_code, answer.json()["code"]) == (403, "topic.not_held")


def test_an_instructor_alone_cannot_begin_a_topic(client_for, di, ada):
    instructor = make.member(di, Role.INSTRUCTOR)
    answer = sign(client_for(instructor), ada, evidence="course")
    assert (answer.status_code, answer.json()["code"]) == (403, "topic.without_holder")


def test_when_the_last_holder_left_an_admin_may_begin_again(client_for, di, cy, ada):
    client = client_for(di)
    assert sign(client, ada, evidence="course").status_code == 403
    client.post(f"members/{cy.public_id}/departure")
    assert sign(client, ada, evidence="course").status_code == 201


def test_a_sign_off_ends_with_its_last_local_day(client_for, cy, ada, room):
    sign(client_for(cy), ada, expires_on="2027-03-28")  # the night Berlin's clocks go forward: the day has 23 hours
    (row,) = SignOff.objects.filter(trainee=ada)
    assert row.expires_at == datetime(2027, 3, 28, 22, tzinfo=UTC)
    assert topics_held(ada, [POWDER], row.expires_at - timedelta(seconds=1)) == {POWDER}
    assert topics_held(ada, [POWDER], row.expires_at) == set()


def test_left_out_the_last_day_is_the_latest_the_topic_allows(client_for, cy, ada, room):
    sign(client_for(cy), ada)
    assert SignOff.objects.get(trainee=ada).expires_at == end_of(date(2027, 11, 25), room.zone)


@pytest.mark.parametrize(("day", "status"), [("2027-11-25", 201), ("2027-11-26", 400), ("2026-11-24", 400)])
def test_a_sign_off_lasts_no_longer_than_the_topic_allows_and_never_ends_before_it_begins(
    client_for, cy, ada, day, status
):
    answer = sign(client_for(cy), ada, expires_on=day)
    assert answer.status_code == status
    if status == 400:
        assert answer.json()["errors"][0]["pointer"] == "/expires_on"
        assert answer.json()["facts"]["latest"] == "2027-11-25"


def test_a_sign_off_covers_nothing_done_before_it_was_written(client_for, cy, ada):
    answer = sign(client_for(cy), ada, valid_from="2026-11-24")
    assert answer.json()["errors"][0]["pointer"] == "/valid_from"
    sign(client_for(cy), ada, valid_from="2026-11-25")
    assert missing_topics(ada, [POWDER], NOON - timedelta(seconds=1)) == [POWDER]
    assert missing_topics(ada, [POWDER], NOON) == []


def test_a_sign_off_may_begin_on_a_later_local_day(client_for, cy, ada):
    sign(client_for(cy), ada, valid_from="2026-12-01")
    begins = datetime(2026, 11, 30, 23, tzinfo=UTC)
    assert topics_held(ada, [POWDER], begins - timedelta(seconds=1)) == set()
    assert topics_held(ada, [POWDER], begins) == {POWDER}


def test_today_is_the_darkrooms_day_not_that_of_utc(client_for, cy, ada, room):
    with clock.fixed(datetime(2026, 11, 25, 23, 30, tzinfo=UTC)):  # half past midnight on the 26th in Berlin
        assert day_of(clock.now(), room.zone) == date(2026, 11, 26)
        assert sign(client_for(cy), ada, expires_on="2026-11-25").status_code == 400
        assert sign(client_for(cy), ada, expires_on="2026-11-26").status_code == 201


def test_a_minor_is_signed_off_in_no_powder_and_in_the_rest(client_for, cy, ada, max):
    answer = sign(client_for(cy), ada, max, topics=["ppe", POWDER])
    assert (answer.status_code, answer.json()["code"]) == (403, "sign-off.minor")
    assert answer.json()["facts"]["members"] == [str(max.public_id)]
    assert topics_held(ada, [POWDER], NOON) == set()
    assert sign(client_for(cy), max, topics=["ppe"]).status_code == 201
