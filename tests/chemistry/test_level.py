"""Level readings: what is really in a vessel, told at once or late, once superseded, and taken back."""

from datetime import timedelta
from uuid import uuid4

import pytest

from accounts.models import Notice
from chemistry.commands import level, proof, transfer
from chemistry.models import LevelReading, Movement
from darkroom_service import clock
from tests.chemistry import bench, brew


@pytest.fixture
def staffed(room, bo, eli, cy):
    """The room with its technicians and its instructor."""
    return room


def read(client, vessel, measured, **more):
    """Read a level, in mL, and return the answer's body."""
    answer = client.post(f"vessels/{vessel.public_id}/level", {"measured": bench.quantity(measured), **more})
    assert answer.status_code == 201, answer.json()
    return answer.json()


def worked(vessel, client, rolls=4):
    """Put film through a vessel that is reused."""
    answer = client.post("check-ins", bench.reuse(bench.line(vessel.darkroom, vessel), rolls=rolls, size="1000"))
    assert answer.status_code == 201, answer.json()
    return bench.fresh(vessel)


def adds_up(room):
    return list(proof.differences(room.pk)) == []


def test_a_small_difference_goes_to_unaccounted_and_the_load_stays(staffed, bo, client_for):
    client = client_for(bo)
    vessel = worked(brew.filled(staffed, ml="1000"), client)
    said = read(client, vessel, "950")
    now = bench.fresh(vessel)
    assert said["difference"]["value"] == f"{(9500 - vessel.contents) / 10}"
    assert (now.contents, now.load, now.basis) == (9500, vessel.load, vessel.basis)
    assert not Notice.objects.filter(kind="vessel-loss").exists()
    assert adds_up(staffed)


def test_a_large_loss_takes_its_share_of_the_load_and_the_technician_is_told(staffed, bo, eli, ada, client_for):
    client = client_for(bo)
    vessel = worked(brew.filled(staffed, ml="1000"), client)
    read(client, vessel, str(vessel.contents / 20))
    now = bench.fresh(vessel)
    assert abs(now.load - vessel.load / 2) <= 1  # half the liquid, half the load
    assert set(Notice.objects.filter(kind="vessel-loss").values_list("to", flat=True)) == {bo.pk, eli.pk}
    assert adds_up(staffed)


@pytest.mark.parametrize(
    ("of", "left", "told"), [("1000", "799", True), ("1000", "800", False), ("4000", "3801", False)]
)
def test_a_loss_is_worth_a_notice_above_200_ml_and_5_per_cent(staffed, bo, client_for, of, left, told):
    vessel = brew.filled(staffed, ml=of)
    read(client_for(bo), vessel, left)
    assert Notice.objects.filter(kind="vessel-loss").exists() is told


def test_a_loss_above_200_ml_but_within_5_per_cent_is_no_notice(staffed, bo, client_for):
    vessel = brew.filled(staffed, ml="6000")
    read(client_for(bo), vessel, "5700")
    assert not Notice.objects.filter(kind="vessel-loss").exists()


def test_more_than_on_record_is_found_without_making_more_capacity(staffed, bo, client_for):
    vessel = brew.filled(staffed, ml="900", nominal="1000")
    assert read(client_for(bo), vessel, "930")["difference"]["value"] == "30.0"
    assert (bench.fresh(vessel).contents, bench.fresh(vessel).basis) == (9300, 9000)
    assert Movement.objects.get(source="unaccounted").volume == 300


def test_a_level_that_shows_it_part_full_shortens_the_date(staffed, bo, client_for):
    vessel = brew.filled(staffed, ml="1000")
    read(client_for(bo), vessel, "700")
    assert "part-full" in bench.fresh(vessel).use_by_rule
    assert bench.fresh(vessel).use_by < vessel.use_by


def test_a_reading_told_late_counts_for_its_own_time_not_for_now(staffed, bo, client_for):
    start = clock.now() - timedelta(days=4)
    vessel = brew.filled(staffed, ml="1000", at=start)
    brew.do(transfer.decant, bo, source=vessel.public_id, target=brew.bottle(staffed).public_id, volume=3000)
    said = read(client_for(bo), vessel, "980", occurred_at=(start + timedelta(days=1)).isoformat())
    # 980 before the 300 were poured: 680 are left now.
    assert (said["difference"]["value"], said["superseded"]) == ("-20.0", False)
    assert bench.fresh(vessel).contents == 6800
    assert adds_up(staffed)


def test_a_reading_older_than_a_later_look_changes_nothing_and_says_so(staffed, bo, client_for):
    start = clock.now() - timedelta(days=4)
    vessel = brew.filled(staffed, ml="1000", at=start)
    read(client_for(bo), vessel, "900")
    said = read(client_for(bo), vessel, "400", occurred_at=(start + timedelta(days=1)).isoformat())
    assert (said["difference"]["value"], said["superseded"]) == ("0.0", True)
    assert bench.fresh(vessel).contents == 9000
    assert LevelReading.objects.count() == 2


def test_a_late_reading_never_leaves_less_than_nothing(staffed, bo, client_for):
    start = clock.now() - timedelta(days=4)
    vessel = brew.filled(staffed, ml="1000", at=start)
    brew.do(transfer.decant, bo, source=vessel.public_id, target=brew.bottle(staffed).public_id, volume=8000)
    read(client_for(bo), vessel, "100", occurred_at=(start + timedelta(days=1)).isoformat())
    assert (bench.fresh(vessel).contents, bench.fresh(vessel).state) == (0, "emptied")
    assert adds_up(staffed)


def test_reading_an_unchanged_level_lets_no_air_in(staffed, bo, client_for):
    vessel = brew.filled(staffed, ml="1000")
    for _ in range(3):
        read(client_for(bo), vessel, "1000")
    assert bench.fresh(vessel).oxygen_high == vessel.oxygen_high


@pytest.mark.parametrize(
    ("measured", "status", "pointer"),
    [
        (bench.quantity("1051"), 400, "/measured"),
        (bench.quantity("-1"), 400, "/measured/value"),
        (bench.quantity("Infinity"), 400, "/measured/value"),
        (bench.quantity("1", "kg"), 400, "/measured/unit"),
    ],
)
def test_an_absurd_reading_is_refused_and_changes_nothing(staffed, bo, client_for, measured, status, pointer):
    vessel = brew.filled(staffed, ml="1000")
    answer = client_for(bo).post(f"vessels/{vessel.public_id}/level", {"measured": measured})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (status, pointer)
    assert bench.fresh(vessel).version == vessel.version
    assert not LevelReading.objects.exists()


def test_what_stands_in_a_vessel_nobody_filled_is_not_known_by_its_level(staffed, bo, client_for):
    vessel = brew.bottle(staffed)
    answer = client_for(bo).post(f"vessels/{vessel.public_id}/level", {"measured": bench.quantity("100")})
    assert (answer.status_code, answer.json()["code"]) == (409, "vessel.unfilled")
    read(client_for(bo), vessel, "0")


def test_a_member_reads_a_level_and_their_key_counts_once(staffed, ada, client_for):
    vessel, key, client = brew.filled(staffed, ml="1000"), uuid4(), client_for(ada)
    path, said = f"vessels/{vessel.public_id}/level", {"measured": bench.quantity("990")}
    assert client.post(path, said, key).json() == client.post(path, said, key).json()
    assert LevelReading.objects.count() == 1
    assert client.post(path, {"measured": bench.quantity("980")}, key).status_code == 422


def test_another_darkroom_s_vessel_has_no_level_here(staffed, bo, outsider, client_for):
    vessel = brew.filled(staffed)
    said = {"measured": bench.quantity("100")}
    assert client_for(outsider).post(f"vessels/{vessel.public_id}/level", said).status_code == 404


def test_a_reading_taken_back_gives_the_level_back(staffed, ada, bo, max, client_for):
    client = client_for(bo)
    vessel = worked(brew.filled(staffed, ml="1000"), client)
    said = read(client_for(ada), vessel, "300")
    path = f"vessels/{vessel.public_id}/levels/{said['id']}"
    assert client_for(max).post(f"{path}/reversal", {"reason": "a prank"}).status_code == 403
    assert client_for(ada).post(f"{path}/reversal", {"reason": "read the wrong bottle"}).status_code == 201
    now = bench.fresh(vessel)
    assert (now.contents, now.load, now.basis, now.level_known_at) == (
        vessel.contents, vessel.load, vessel.basis, vessel.filled_at,
    )  # fmt: skip
    assert client.get(path).json()["taken_back"] is True
    assert [each["id"] for each in client.get(f"vessels/{vessel.public_id}/levels").json()["items"]] == [said["id"]]
    assert adds_up(staffed)


def test_a_reading_that_agreed_no_longer_anchors_the_level_once_taken_back(staffed, bo, client_for):
    start = clock.now() - timedelta(days=4)
    vessel = brew.filled(staffed, ml="1000", at=start)
    done = brew.do(level.read, bo, vessel, measured=10_000)
    brew.do(level.reverse, bo, done.reading, reason="another bottle")
    given = {"source": vessel.public_id, "target": brew.bottle(staffed).public_id, "volume": 3000}
    late = brew.do(transfer.decant, bo, at=start + timedelta(days=1), **given)
    assert late.flags == []
    assert bench.fresh(vessel).contents == 7000
