"""The pages that say what an old hose is: its line is read, its ends are named, and nothing is guessed."""

import pytest
from django.urls import reverse

from fleet.models import Part, PartKind, Role, Setting, Site, StockPiece


@pytest.fixture
def viewer(planned, member_of):
    return member_of(planned, Role.VIEWER)


def asked(client, organization, page: str = "layline", **query) -> str:
    answer = client.get(reverse(page, args=[organization.slug]), query)
    assert answer.status_code == 200
    return answer.content.decode()


def in_inches(organization) -> None:
    for name, unit in (("length_unit", "in"), ("pressure_unit", "psi")):
        Setting.objects.update_or_create(organization=organization, name=name, defaults={"value": unit})


def test_the_build_pages_lead_to_it(planned, viewer):
    text = viewer.get(reverse("cuts", args=[planned.slug])).content.decode()
    assert f'href="{reverse("layline", args=[planned.slug])}"' in text


def test_a_line_is_told_in_words_and_in_the_readers_units(planned, viewer):
    text = asked(viewer, planned, line='SAE 100R2AT/EN 853 2SN 1/2" WP 4000 PSI 3Q19 BRAND-X')
    assert "100R2" in text and "EN 853 2SN" in text
    assert "dash -8" in text.replace("\n", "") and "12.70\N{NO-BREAK SPACE}mm" in text
    assert "275.8\N{NO-BREAK SPACE}bar" in text and "4000 PSI" in text
    assert "quarter 3 of 2019" in text and "1 Jul 2019" in text
    assert '<span class="key">BRAND-X</span>' in text
    in_inches(planned)
    text = asked(viewer, planned, line="2SN -8 275 BAR")
    assert "3,989\N{NO-BREAK SPACE}psi" in text and "0.500\N{NO-BREAK SPACE}in" in text


def test_a_doubt_is_told_and_nothing_chosen(planned, viewer):
    text = asked(viewer, planned, line="2SN 12 08/19")
    assert "12 may be dash 8 or dash 12." in text
    assert "week 8 of 2019 or August 2019 or week 19 of 2008" in text
    assert "The same construction and size" not in text


def test_only_hoses_of_exactly_that_construction_and_size_are_the_same(planned, viewer):
    own = {"organization": planned, "kind": PartKind.BULK_HOSE, "unit": "metre"}
    same = Part.objects.create(**own, key="H-EN", construction="EN 853:2015 2SN", dash=8)
    Part.objects.create(**own, key="H-LARGER", construction="2SN", dash=12)
    Part.objects.create(**own, key="H-OTHER", construction="SAE 100R2AT", dash=8)
    north = Site.objects.of(planned).get(key="north")
    for piece, metres in (("R1", 12.5), ("R2", 3)):
        StockPiece.objects.create(organization=planned, part=same, site=north, piece=piece, on_hand=metres)
    text = asked(viewer, planned, line="EN 853 2SN DN12")
    assert "H-2SN-08" in text and "H-EN" in text and "15.5\N{NO-BREAK SPACE}m" in text
    assert "H-LARGER" not in text and "H-OTHER" not in text
    assert "that they fit is not said" in text


def test_a_table_from_memory_is_shown_as_that_and_passes_nothing(planned, viewer):
    text = asked(viewer, planned, line="EN 853 2SN DN12")
    assert "from memory" in text and "passes no hose" in text and "not plain" in text
    assert "sound" not in text


def test_the_cautions_of_the_bench_stand_on_both_pages(planned, viewer):
    assert all("Never reuse" in asked(viewer, planned, page) for page in ("layline", "ends"))


def test_a_thread_is_named_with_what_looks_like_it_and_what_to_measure_next(planned, viewer):
    text = asked(viewer, planned, "ends", male_mm="14.2")
    for name in ("37° flare -6 (9/16-18)", "flat face O-ring -4 (9/16-18)", "24° cone light 8L (M14×1.5)"):
        assert name in text
    assert "Hold a pitch gauge to the thread." in text
    text = asked(viewer, planned, "ends", male_mm="14.2", threads_per_inch="18", seat="cone 37")
    assert "certain" in text and "Easily taken for it" in text and "Measure next" not in text


def test_a_thread_is_measured_in_inches_where_lengths_are_in_inches(planned, viewer):
    in_inches(planned)
    text = asked(viewer, planned, "ends", male_in="0.56")
    assert 'name="male_in"' in text and "37° flare -6 (9/16-18)" in text


def test_no_thread_of_such_a_diameter_is_told(planned, viewer):
    assert "No thread of the tables has such a diameter." in asked(viewer, planned, "ends", male_mm="200")
    assert "Measure the outside" in asked(viewer, planned, "ends", seat="cone 37")


def test_a_flange_is_named_by_its_bolts(planned, viewer):
    text = asked(viewer, planned, "ends", bolts_long_mm="57.2", bolts_short_mm="27.8")
    assert "code 62 -16" in text and "certain" in text
    assert "No flange of the tables" in asked(viewer, planned, "ends", head_mm="10")


def test_what_is_no_number_is_refused_beside_its_field(planned, viewer):
    assert 'class="errors"' in asked(viewer, planned, "ends", male_mm="wide")
    assert 'class="errors"' in asked(viewer, planned, line="x" * 301)


def test_the_pages_of_another_organization_are_not_there(quarry, planned, member_of):
    client = member_of(quarry)
    for page in ("layline", "ends"):
        assert client.get(reverse(page, args=[planned.slug])).status_code == 404
