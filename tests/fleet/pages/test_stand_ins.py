"""The pages of what may stand in."""

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import strip_tags

from fleet.models import Part, Position, Role
from fleet.services.replacing.stand_ins import PartShown, Shelf
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import add_spiral_hose, small_fleet


@pytest.fixture
def viewer(planned, member_of):
    return member_of(planned, Role.VIEWER)


def address(organization, machine="M-01", position="boom 1") -> str:
    return reverse("stand_ins", args=[organization.slug, machine, position])


def test_machine_burst_and_assembly_lead_to_what_may_stand_in(planned, viewer):
    for page in (
        reverse("machine", args=[planned.slug, "M-01"]),
        reverse("burst", args=[planned.slug, "M-01", "boom 1"]),
        reverse("assembly", args=[planned.slug, "A-1-1"]),
    ):
        assert f'href="{address(planned)}"' in viewer.get(page).content.decode()


def test_the_page_says_what_is_lacking_and_who_decides(planned, viewer):
    Position.objects.update(critical=True, working_pressure_bar=100)
    text = strip_tags(viewer.get(address(planned)).content.decode())
    assert "a named competent person must decide" in text
    assert "None may stand here" in text and "1 cannot be judged" in text
    assert "The rating of hose H-2SN-08, end E-08 is not known" in text and "from memory" in text


@pytest.mark.parametrize(
    "sites, more", [(0, "none"), (8, "S8: 1"), (9, "S8: 1; and 1 site more"), (12, "S8: 1; and 4 sites more")]
)
def test_eight_sites_of_a_part_are_named_and_the_rest_counted(sites, more):
    shelves = [Shelf(f"S{n}", 1.0, "each", None) for n in range(1, sites + 1)]
    told = render_to_string(
        "register/stand_in_shelves.html", {"part": PartShown("E-08", "", tuple(shelves)), "units": None}
    )
    assert told.endswith(more) and told.count("S") == min(sites, 8)


def test_a_worn_hose_is_asked_for_by_its_layline(planned, viewer):
    page = reverse("worn_stand_ins", args=[planned.slug])
    assert "Construction" in viewer.get(page).content.decode()
    text = viewer.get(page, {"construction": "2SN", "dash": "8", "rated": "350"}).content.decode()
    assert "H-2SN-08" in text and "The hose alone is judged" in text
    assert "Enter a number" in viewer.get(page, {"construction": "2SN", "dash": "half"}).content.decode()


def test_a_measured_end_leads_to_what_may_stand_in_with_it(planned, viewer):
    Part.objects.filter(key="E-08").update(end_style="37° flare female swivel", thread="3/4-16 UNF-2B")
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=350.0)
    Part.objects.create(organization=planned, key="E-M18", kind="hose_end", thread="M18x1.5")
    worn = reverse("worn_stand_ins", args=[planned.slug])
    measured = viewer.get(reverse("ends", args=[planned.slug]), {"male_mm": "19.0"})
    assert [part.key for part in measured.context["same"]] == ["E-08"]
    assert f'href="{worn}?end_a=E-08"' in measured.content.decode()
    begun = viewer.get(worn, {"end_a": "E-08"}).content.decode()
    assert '<option value="E-08" selected>' in begun and "This field is required" not in begun
    asked = {"construction": "2SN", "dash": "8", "rated": "350", "end_a": "E-08"}
    found = viewer.get(worn, asked).context["found"]
    (one,) = found.candidates
    assert (one.end_a.part, one.end_b.part) == ("E-08", "E-08")
    assert "E-M18" in {end.part for end in found.ends_refused}
    assert "the ends by what was found" in found.notes[-1]


def test_a_position_of_another_organization_is_not_there(quarry, planned, member_of):
    assert member_of(quarry).get(address(quarry)).status_code == 404


def test_the_page_asks_as_often_whatever_the_fleet(gravel, quarry, member_of):
    counts = []
    for organization, positions in ((gravel, 2), (quarry, 20)):
        small_fleet(organization, positions=positions)
        client = member_of(organization)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(organization)).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 25


def test_the_page_of_an_old_hose_leads_to_what_carries_just_as_much(planned, viewer):
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=4000 * 0.06894757293168361)
    old = viewer.get(reverse("layline", args=[planned.slug]), {"line": "EN 853 2SN -8 WP 4000 PSI"})
    query = old.context["stand_ins_query"]
    found = viewer.get(f"{reverse('worn_stand_ins', args=[planned.slug])}?{query}").context["found"]
    assert [one.hose.part for one in found.fitting] == ["H-2SN-08"]


def test_a_planner_has_what_may_stand_in_belong_there_and_a_viewer_does_not(planned, viewer, member_of):
    add_spiral_hose(planned)
    asked = {"hose": "H-4SP-08", "end_a": "E-08", "end_b": "E-08"}
    choosing = reverse("choose_design", args=[planned.slug, "M-01", "boom 1"], query=asked)
    link = choosing.replace("&", "&amp;")
    assert link not in viewer.get(address(planned)).content.decode()
    planner = member_of(planned, Role.PLANNER)
    assert link in planner.get(address(planned)).content.decode()
    shown = planner.get(choosing)
    assert (
        shown.context["form"].initial["key"] == "D-100-2"
        and "the new hose cut to 813" in shown.content.decode()
    )
    refused = planner.post(choosing, {"key": "D-100", "reason": "under its rating"})
    assert refused.status_code == 422 and "is drawn already" in refused.content.decode()
    done = planner.post(choosing, {"key": "D-100-2", "reason": "under its rating"}, follow=True)
    assert "D-100-2 belongs in M-01 boom 1 from now on" in read(done)
    position = Position.objects.select_related("design__hose_part").get(machine__key="M-01", key="boom 1")
    assert position.design.hose_part.key == "H-4SP-08"
    assert member_of(planned, Role.SHOP).post(choosing, {"key": "D", "reason": "x"}).status_code == 403


def test_what_does_not_pass_cannot_be_chosen(planned, member_of):
    asked = {"hose": "H-2SN-08", "end_a": "E-08", "end_b": "E-08"}
    choosing = reverse("choose_design", args=[planned.slug, "M-01", "boom 1"], query=asked)
    assert member_of(planned, Role.PLANNER).get(choosing).status_code == 404
