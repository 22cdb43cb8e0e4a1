"""The proof is silent about a term lived through, and names whatever is changed behind the service's back."""

from datetime import timedelta

import pytest
from django.db.models import F

from accounts.models import SignOff
from chemistry.commands import proof
from chemistry.models import Batch, Charge, CheckIn, CostShare, Hold, Movement, Pack, Reversal, Tally, Vessel
from tests.chemistry.behind import forge, lived_once, unguarded
from waste.models import Fill

term = lived_once
pytestmark = pytest.mark.django_db
MORE = {name: F(name) + 1 for name in ("contents", "load", "area", "basis", "made", "cost_minor", "minor", "volume")}


def more(name):
    return {name: MORE[name]}


def said(room=None):
    return list(proof.differences(room))


def movements(entry, **which):
    return Movement.objects.filter(entry=entry.entry_id, **which)


def test_a_term_lived_through_is_borne_out_by_its_rows(term):
    assert said() == []
    assert said(term.room.pk) == []


def test_it_asks_the_same_number_of_questions_however_much_there_is_to_prove(term, django_assert_num_queries):
    with django_assert_num_queries(len(proof.QUESTIONS) + 4):
        said()


def test_another_darkrooms_differences_are_not_this_ones(term):
    forge(Vessel.objects.filter(pk=term.flask.pk), **more("contents"))
    assert said(term.room.pk)
    assert said(term.room.pk + 1) == []


@pytest.mark.parametrize(("field", "words"), [("contents", "contents"), ("basis", "basis")])
def test_a_vessel_that_holds_what_nobody_poured_is_named(term, field, words):
    forge(Vessel.objects.filter(pk=term.flask.pk), **more(field))
    line, *more_of_it = said()  # what it can do hangs on its basis, and is named too
    assert line.startswith(f"vessel {term.flask.code}: says ")
    assert words in line
    assert all("load, its formula says" in each for each in more_of_it)


@pytest.mark.parametrize("field", ["load", "area"])
def test_a_vessel_that_did_what_nobody_charged_is_named(term, field):
    forge(Vessel.objects.filter(pk=term.flask.pk), **more(field))
    (line,) = said()
    assert line.startswith(f"vessel {term.flask.code}: says ")
    assert "its charges say" in line


def test_a_vessel_under_a_label_that_its_liquid_does_not_have_is_named(term):
    was = Vessel.objects.get(pk=term.flask.pk)
    forge(
        Vessel.objects.filter(pk=term.flask.pk), batch=term.pans[0].batch or Vessel.objects.get(pk=term.kept.pk).batch
    )
    assert (
        f"vessel {was.code}: {was.contents} of 0.1 mL stand in it under batch {was.batch.code}, which it does not hold"
        in said()
    )


def test_a_vessel_that_says_it_is_empty_and_is_not_is_named(term):
    contents = Vessel.objects.get(pk=term.flask.pk).contents
    forge(Vessel.objects.filter(pk=term.flask.pk), state="emptied")
    assert said() == [f"vessel {term.flask.code}: holds {contents} of 0.1 mL and says it is emptied"]


def test_what_is_still_kept_for_a_plan_that_is_over_is_named(term):
    hold = Hold.objects.get(plan=term.plan, vessel=term.bath)
    forge(Hold.objects.filter(pk=hold.pk), released_at=None)
    kept = f"{hold.volume} of 0.1 mL are still kept for the plan of entry {term.plan.entry.seq}"
    assert said() == [f"vessel {term.bath.code}: {kept}, which was used or given up"]


def test_a_batch_that_says_more_was_made_than_was_is_named(term):
    batch = term.bath.batch
    forge(Batch.objects.filter(pk=batch.pk), **more("made"))
    assert said() == [f"batch {batch.code}: says {batch.made + 1} of 0.1 mL were made, its movements say {batch.made}"]


def test_a_batch_in_a_state_it_never_came_to_is_named(term):
    batch = term.bath.batch
    forge(Batch.objects.filter(pk=batch.pk), state="mixed")
    assert said() == [f"batch {batch.code}: says it is mixed, its last step says released"]


def test_a_batch_that_cost_what_nobody_paid_is_named(term):
    batch = term.bath.batch
    forge(Pack.objects.filter(batch=batch), price_minor=F("price_minor") - 5)
    cost = batch.cost_minor
    assert said() == [
        f"batch {batch.code}: cost {cost} minor units, its packs and what was passed on to it come to {cost - 5}"
    ]


def test_a_used_up_batch_whose_shares_do_not_add_up_is_named(term):
    batch = Batch.objects.filter(vessels=term.pans[0]).get()
    assert batch.closed_at
    forge(
        CostShare.objects.filter(batch=batch, member=None, into=None, entry__act="tray-session:open"), **more("minor")
    )
    cost = batch.cost_minor
    assert said() == [f"batch {batch.code}: cost {cost} minor units, its shares add up to {cost + 1}"]


def test_a_batch_settled_while_some_of_it_stands_somewhere_is_named(term):
    batch = term.bath.batch
    forge(Batch.objects.filter(pk=batch.pk), closed_at=batch.mixed_at)
    words = f"batch {batch.code}: its cost is settled, yet "
    assert {line.split(" stand in ")[1] for line in said() if line.startswith(words)} >= {
        term.bath.code,
        term.flask.code,
    }


def test_liquid_lost_in_a_tank_is_named_with_its_entry(term):
    forge(movements(term.reuse, source_vessel=term.flask, target="run"), **more("volume"))
    code = term.bath.batch.code
    assert f"entry {term.reuse.entry.seq}: 1 of 0.1 mL more of batch {code} went into its tank than came out" in said()


def test_a_pour_into_a_container_that_the_waste_log_does_not_know_is_named(term):
    forge(movements(term.emptied, target="container"), fill=None)
    seq = term.emptied.entry.seq
    assert said() == [
        f"entry {seq}: 2500 of 0.1 mL went into a container or out of it, and no pour in the waste log is named",
        f"entry {seq}: its pour in the waste log is 2500 of 0.1 mL, the movements into the container carry 0",
    ]


def test_a_pour_of_another_volume_than_left_the_vessel_is_named(term):
    forge(Fill.objects.filter(entry=term.emptied.entry_id), **more("volume"))
    seq = term.emptied.entry.seq
    assert (
        f"entry {seq}: its pour in the waste log is 2501 of 0.1 mL, the movements into the container carry 2500"
        in said()
    )


def test_a_pour_by_hand_comes_from_no_vessel_and_is_no_difference(term):
    assert term.by_hand.entry.act == "fill:create"
    assert said() == []


def test_a_vessel_charged_more_than_went_through_is_named(term):
    forge(Charge.objects.filter(entry=term.reuse.entry_id, vessel=term.flask, moved=False), **more("load"))
    assert (
        f"entry {term.reuse.entry.seq}: 3600 load went through, yet vessel {term.flask.code} was charged 3601" in said()
    )


def test_a_tray_charged_less_than_was_printed_is_named(term):
    forge(Charge.objects.filter(entry=term.printed.entry_id, vessel=term.pans[0], moved=False), load=1)
    load, seq = term.printed.load, term.printed.entry.seq
    assert f"entry {seq}: {load} load of paper went through, yet tray {term.pans[0].code} was charged 1" in said()


@pytest.mark.parametrize(("made", "model"), [("reuse", CheckIn), ("printed", Tally)])
def test_a_cost_that_its_shares_do_not_add_up_to_is_named(term, made, model):
    row = getattr(term, made)
    forge(model.objects.filter(pk=row.pk), **more("cost_minor"))
    cost = row.cost_minor
    assert said() == [f"entry {row.entry.seq}: cost its member {cost + 1} minor units, their shares add up to {cost}"]


def test_somebody_who_bears_what_others_used_is_named(term):
    share = CostShare.objects.filter(entry=term.reuse.entry_id, member=term.ada).first()
    forge(CostShare.objects.filter(pk=share.pk), member=term.bo)
    seq = term.reuse.entry.seq
    assert f"entry {seq}: somebody bears {share.minor} minor units of it who had no part in it" in said()


@pytest.mark.parametrize(("model", "kind"), [(Movement, "movement"), (Charge, "charge"), (CostShare, "share of cost")])
def test_what_a_reversal_left_standing_is_named(term, model, kind):
    unguarded(model)
    back = model.objects.filter(reverses__entry=term.undone.entry_id).first()
    kept, by = back.reverses_id, back.entry.seq
    back.delete()
    assert f"entry {term.undone.entry.seq}: was taken back by entry {by}, but its {kind} {kept} was not" in said()


def test_a_pour_that_a_reversal_left_standing_is_named(term):
    fill = Fill.objects.get(entry=term.emptied.entry_id)
    forge(Reversal.objects.filter(target=term.undone.entry_id), target=term.emptied.entry)
    assert any(line.endswith(f"but its pour {fill.pk} was not") for line in said())


@pytest.mark.parametrize(("model", "kind"), [(Movement, "movement"), (Charge, "charge"), (CostShare, "share of cost")])
def test_a_row_that_takes_back_what_it_has_no_right_to_is_named(term, model, kind):
    back = model.objects.filter(reverses__entry=term.undone.entry_id).first()
    forge(model.objects.filter(pk=back.pk), entry=term.late.entry)
    assert f"entry {term.late.entry.seq}: its {kind} {back.pk} takes something back that it has no right to" in said()


@pytest.mark.parametrize(
    ("model", "kind", "change"),
    [
        (Movement, "movement", {"volume": 7}),
        (Movement, "movement", {"source": "drain"}),
        (Charge, "charge", {"load": 7}),
        (Charge, "charge", {"moved": True}),
        (CostShare, "share of cost", {"minor": 7}),
        (CostShare, "share of cost", {"member": None}),
    ],
)
def test_a_row_that_is_no_mirror_of_what_it_takes_back_is_named(term, model, kind, change):
    back = model.objects.filter(reverses__entry=term.undone.entry_id)
    row = back.exclude(source="vessel").first() if "source" in change else back.first()
    forge(model.objects.filter(pk=row.pk), **change)
    assert f"entry {row.entry.seq}: its {kind} {row.pk} does not mirror the one it takes back" in said()


def test_a_batch_mixed_by_somebody_who_was_not_signed_off_is_named(term):
    batch = term.bath.batch
    mixer = SignOff.objects.filter(trainee=batch.mixed_by, topic__code="powder-handling")
    later = batch.mixing_started_at + timedelta(seconds=1)
    forge(mixer, valid_from=later, expires_at=later + timedelta(days=1))
    assert f"batch {batch.code}: was mixed without a sign-off in powder-handling" in said()


def test_a_batch_flagged_for_its_mixer_is_known_and_no_difference(term):
    batch = term.bath.batch
    mixer = SignOff.objects.filter(trainee=batch.mixed_by, topic__code="powder-handling")
    later = batch.mixing_started_at + timedelta(seconds=1)
    forge(mixer, valid_from=later, expires_at=later + timedelta(days=1))
    Batch.objects.filter(mixed_by=batch.mixed_by).update(flags=["mixer.unsigned"])
    assert said() == []
