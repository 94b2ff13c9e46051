"""Of several who decide about the same hoses at once, or while they come off, each gets an answer."""

from functools import partial

import pytest

from fleet.models import ChangeoutDecision, InspectionRequest, Organization
from fleet.services.decisions.deciding import decide_changeout
from fleet.services.decisions.tracing import ask_inspections, set_changeouts
from fleet.services.work.recording import remove_assembly
from tests.fleet.at_once import at_once
from tests.fleet.pages.small_fleet import AS_OF, day, small_fleet, small_plan

pytestmark = pytest.mark.django_db(transaction=True)

IN_PLACE = 6


@pytest.fixture
def gravel() -> Organization:
    organization = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    small_fleet(organization)
    small_plan(organization)
    return organization


def test_of_two_who_have_a_lot_looked_at_at_once_one_asks_and_one_finds_it_asked(gravel):
    whole_lot = {"organization": gravel, "user": None, "groups": {"hose_lot": "L-77"}, "reason": "rubbed"}
    ask = partial(ask_inspections, **whole_lot, by_day=day(14), today=AS_OF)

    came = at_once(*[lambda: (ask().made, "asked")] * 2)

    assert sorted(came) == [(0, "asked"), (IN_PLACE, "asked")]
    assert InspectionRequest.objects.count() == IN_PLACE


def test_who_decides_about_hoses_and_who_takes_them_off_do_not_wait_for_each_other_in_a_ring(gravel):
    own = {"organization": gravel, "user": None, "today": AS_OF}
    lot = {"groups": {"hose_lot": "L-77"}, "reason": "rubbed"}
    off = {"removed_on": AS_OF, "removal_cause": "worn"}
    gone = ["A-1-1", "A-1-2", "A-2-1"]

    came = at_once(
        lambda: set_changeouts(**own, **lot, not_after=day(30)).made,
        *[partial(decide_changeout, **own, assembly="A-2-2", kind="not_before", day=day(40))] * 2,
        *[lambda key=key: remove_assembly(**own, **off, assembly=key).again for key in gone],
    )

    assert len(came) == 6 and came.count(False) == len(gone)
    stand = ChangeoutDecision.objects.filter(withdrawn_on=None)
    assert stand.filter(assembly__key="A-2-2").count() == 1
