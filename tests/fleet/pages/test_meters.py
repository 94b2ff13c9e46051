"""Hour meters entered on one form for many machines."""

import uuid

import pytest
from django.urls import reverse

from fleet.models import Machine, MeterReading
from tests.fleet.pages.small_fleet import AS_OF, day

ADDRESS = reverse("meters", args=["gravel-works"])


@pytest.fixture
def shop(planned, member_of):
    return member_of(planned, "shop")


def send(client, on=AS_OF, token=None, **shown):
    sent = {"day": str(on), "token": token or uuid.uuid4()}
    for machine in Machine.objects.filter(key__in=[key.replace("_", "-") for key in shown]):
        sent[f"m{machine.pk}-hours"] = shown[machine.key.replace("-", "_")]
    return client.post(ADDRESS, sent, follow=True)


def read_on(on) -> dict[str, float]:
    return dict(MeterReading.objects.filter(read_on=on).values_list("machine__key", "hours"))


def test_the_meters_that_were_read_are_stored_and_the_others_left(shop):
    page = send(shop, M_01="4310.5")
    assert "1 reading is on record." in page.content.decode()
    assert read_on(AS_OF) == {"M-01": 4310.5}


def test_a_meter_that_runs_backwards_is_told_beside_its_machine_and_nothing_is_stored(shop):
    page = send(shop, M_01="4310", M_02="12")
    assert page.status_code == 422
    told = {machine.key: wrong for machine, _form, wrong in page.context["rows"]}
    assert told["M-01"] == [] and "12" in told["M-02"][0]
    assert "say that a new meter starts with them" in told["M-02"][0]
    assert read_on(AS_OF) == {}
    assert 'value="12"' in page.content.decode(), "nothing that was entered is lost"


def test_a_new_meter_may_show_less(shop):
    machine = Machine.objects.get(key="M-02")
    sent = {"day": str(AS_OF), f"m{machine.pk}-hours": "12", f"m{machine.pk}-replaced": "on"}
    shop.post(ADDRESS, sent)
    assert MeterReading.objects.get(read_on=AS_OF).meter_replaced


def test_a_round_that_is_sent_twice_counts_once(shop):
    token = uuid.uuid4()
    send(shop, token=token, M_01="4310")
    page = send(shop, token=token, M_01="4999")
    assert "taken already" in page.content.decode()
    assert read_on(AS_OF) == {"M-01": 4310}


def test_an_empty_round_says_so(shop):
    page = send(shop)
    assert page.status_code == 422
    assert "No meter is entered yet." in page.content.decode()


def test_machines_that_are_retired_have_no_meter_to_read(shop):
    Machine.objects.filter(key="M-02").update(retired_on=day(-5))
    assert [machine.key for machine, *_rest in shop.get(ADDRESS).context["rows"]] == ["M-01"]


def test_who_only_reads_enters_no_meters(planned, member_of):
    assert member_of(planned, "viewer").get(ADDRESS).status_code == 403
