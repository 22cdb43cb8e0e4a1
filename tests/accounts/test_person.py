from tests import make

ME = "/api/v1/me"


def test_me_says_who_one_is_where_as_what_and_which_topics_one_holds(client_for, di, cy):
    body = client_for(cy).get(ME).json()
    assert (body["username"], body["name"]) == (cy.person.username, "Cy Conrad")
    (mine,) = body["memberships"]
    assert (mine["id"], mine["darkroom"]) == (str(cy.public_id), di.darkroom.slug)
    assert mine["roles"] == ["instructor", "member"]
    assert [held["topic"] for held in mine["topics"]] == sorted(make.TOPICS)


def test_me_takes_the_same_queries_in_however_many_darkrooms(client_for, di, cy, django_assert_num_queries):
    client = client_for(di)
    with django_assert_num_queries(3):
        client.get(ME)
    make.room(di.person)
    with django_assert_num_queries(3):
        assert len(client.get(ME).json()["memberships"]) == 2


def test_a_darkroom_one_has_left_is_gone(client_for, ada):
    client_for(ada).post(f"members/{ada.public_id}/departure")
    assert client_for(ada).get(ME).json()["memberships"] == []
