"""What the shop sees: kits by the day they are needed, what each lacks, and the cuts."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import LINES, CrimpSpec, Kit, KitState, Part, Role, Site
from fleet.pages.shop.kits import MOVES
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import AS_OF, day, set_setting


def build(client, organization, **query):
    return client.get(reverse("build", args=[organization.slug]), query)


def test_kits_stand_under_the_day_they_are_needed_soonest_first(planned, member_of):
    LINES["kits"].objects.filter(machine="M-01").update(needed_by=day(20))
    page = build(member_of(planned, Role.SHOP), planned)
    assert [(one["day"], [kit.machine for kit in one["kits"]]) for one in page.context["days"]] == [
        (day(7), ["M-02"]),
        (day(20), ["M-01"]),
    ]


@pytest.fixture
def standby(planned):
    """A standby kit beside those of the changeouts, needed from the plan's own day on as plans have it."""
    kit = LINES["kits"].objects.get(kit="K-M-01")
    kit.pk, kit.row, kit.kit, kit.machine, kit.changeout = None, 99, "S-1", "", ""
    kit.purpose, kit.needed_by = "standby", AS_OF
    kit.save()
    return kit


def test_a_standby_kit_comes_after_what_is_needed_by_today_and_before_what_is_needed_later(
    planned, standby, member_of
):
    later = timezone.localdate() + datetime.timedelta(days=20)
    LINES["kits"].objects.filter(machine="M-01").update(needed_by=later)
    page = build(member_of(planned, Role.SHOP), planned)
    assert [(one["day"], [kit.kit for kit in one["kits"]]) for one in page.context["days"]] == [
        (day(7), ["K-M-02"]),
        (None, ["S-1"]),
        (later, ["K-M-01"]),
    ]
    assert page.content.decode().count("Standby, for failures to come") == 1


def test_standby_kits_are_counted_apart_from_what_planned_changeouts_need_by_today(
    planned, standby, member_of
):
    client = member_of(planned)
    text = build(client, planned).content.decode()
    assert "2 for planned changeouts are needed by today, and 2 of them cannot be built yet." in text
    assert "1 stands by for failures to come, and 1 of that cannot be built yet." in text
    LINES["kits"].objects.exclude(kit="S-1").delete()
    assert "needed by today" not in build(client, planned).content.decode()


def test_a_standby_kit_bears_no_day(planned, standby, member_of):
    client = member_of(planned, Role.SHOP)
    text = client.get(reverse("kit", args=[planned.slug, "S-1"])).content.decode()
    assert "no day: it stands by" in text
    cuts = reverse("cuts", args=[planned.slug]) + f"?site=north&until={timezone.localdate()}"
    LINES["cut_list"].objects.filter(kit="K-M-01").update(kit="S-1")
    assert not client.get(cuts).context["pieces"]
    standby.purpose = "changeout"
    standby.save()
    assert client.get(cuts).context["pieces"]


def test_a_cut_for_a_standby_kit_says_so_in_place_of_a_day(planned, standby, member_of):
    LINES["cut_list"].objects.filter(kit="K-M-01").update(kit="S-1")
    page = member_of(planned).get(reverse("cuts", args=[planned.slug]))
    assert page.context["pieces"] and "standby" in page.content.decode()
    assert AS_OF.isoformat() not in page.content.decode().split("<h1", 1)[1]


def test_a_kit_says_what_it_lacks_and_when_that_is_there(planned, member_of):
    assert "Lacks 0.5 m of H-2SN-08: here by 10 May 2026" in read(build(member_of(planned), planned))


def test_a_part_that_two_lines_lack_is_told_once_and_not_here_before_the_last_of_it(planned, member_of):
    LINES["kit_lines"].objects.filter(kit="K-M-01").update(short_by=0.5, available_on=day(6))
    LINES["kit_lines"].objects.filter(kit="K-M-01", position="boom 2").update(available_on=day(9))
    (kit, _other) = build(member_of(planned), planned).context["days"][0]["kits"]
    lacks = {"part": "H-2SN-08", "unit": "metre", "short_by": 1.5, "available_on": day(9)}
    assert kit.lacks == [lacks | dict.fromkeys(MOVES)]


@pytest.fixture
def lacking_ends(planned):
    """Both kits lack two ends, of which the plan moves four from south to north, the site of the first."""
    ends = {"part": "E-08", "kind": "hose_end", "unit": "each", "quantity": 2, "short_by": 2}
    LINES["kit_lines"].objects.update(**ends, cut_length_mm=None, available_on=day(6))
    return planned


def told_by_kit(client, organization) -> dict[str, str]:
    """What the page of each kit says."""
    kits = ("K-M-01", "K-M-02")
    return {kit: read(client.get(reverse("kit", args=[organization.slug, kit]))) for kit in kits}


def test_a_kit_tells_that_what_it_lacks_is_to_be_moved_there_from_another_site(lacking_ends, member_of):
    client = member_of(lacking_ends, Role.SHOP)
    moved, rest = "the plan moves 4 here from south", "; what else is wanted is here by 10 May 2026"
    told = told_by_kit(client, lacking_ends)
    assert moved in told["K-M-01"] and rest not in told["K-M-01"], "of two that a line lacks nothing is left"
    assert "lacks 2 here by 10 May 2026" in told["K-M-02"], "it stands at south itself"
    assert "Lacks 6 of E-08: " + moved + rest in read(build(client, lacking_ends))


def test_what_a_kit_lacks_may_come_from_more_than_one_site(lacking_ends, member_of):
    move = LINES["transfers"].objects.get(plan__organization=lacking_ends)
    move.pk, move.row, move.from_site, move.quantity = None, 99, "east", 3
    move.save()
    LINES["kit_lines"].objects.update(quantity=8, short_by=8, available_on=None)
    told = told_by_kit(member_of(lacking_ends, Role.SHOP), lacking_ends)
    assert "the plan moves 7 here from other sites; what else is wanted is not on order" in told["K-M-01"]


def test_a_part_that_is_on_no_order_says_so(planned, member_of):
    LINES["kit_lines"].objects.update(available_on=None)
    assert "not on order" in build(member_of(planned), planned).content.decode()


def test_kits_can_be_kept_to_a_site_and_to_what_lacks_something(planned, member_of):
    LINES["kits"].objects.filter(machine="M-01").update(ready=True)
    client = member_of(planned)
    assert [kit.machine for kit in build(client, planned, site="north").context["page"]] == ["M-01"]
    assert [kit.machine for kit in build(client, planned, lacking="yes").context["page"]] == ["M-02"]


def test_the_site_that_was_chosen_last_is_kept_for_the_cut_list(planned, member_of):
    client, cuts = member_of(planned, Role.SHOP), reverse("cuts", args=[planned.slug])
    assert client.get(cuts).context["site"] == "north"
    client.get(cuts, {"site": "south"})
    assert client.get(cuts, {"until": "2026-06-01"}).context["site"] == "south"


def test_what_is_no_site_of_the_organization_is_neither_shown_nor_kept(planned, member_of):
    client, cuts = member_of(planned, Role.SHOP), reverse("cuts", args=[planned.slug])
    client.get(cuts, {"site": "south"})
    assert client.get(cuts, {"site": "a site of another's"}).context["site"] == "south"
    assert client.session[f"site of {planned.slug}"] == "south"


def test_a_substitute_names_the_part_whose_place_it_takes(planned, member_of):
    LINES["kit_lines"].objects.filter(line=1).update(substitute_for="H-1SN-08")
    assert "in place of H-1SN-08" in read(build(member_of(planned), planned))


def test_what_is_over_its_rating_is_not_called_buildable_nor_cut(planned, member_of):
    warning = "Do not build D-100 for it: 312 bar is above 275 bar. Choose a design that bears it first."
    lines = LINES["kit_lines"].objects.filter(kit="K-M-02", position="boom 1")
    lines.update(not_to_build=warning)
    cuts = LINES["cut_list"].objects.filter(kit="K-M-02", line__in=lines.values("line"))
    cuts.update(not_to_build=warning)
    LINES["kits"].objects.update(ready=True)
    LINES["kits"].objects.filter(kit="K-M-02").update(not_to_build=f"boom 1: {warning}")
    client = member_of(planned, Role.SHOP)
    first, second = build(client, planned).context["page"]
    assert (first.not_to_build, second.not_to_build) == ({}, {"boom 1": warning})
    text = build(client, planned).content.decode()
    assert text.count("It can be built") == 1 and read(text).count(warning) == 1
    assert reverse("stand_ins", args=[planned.slug, "M-02", "boom 1"]) in text
    assert warning in read(client.get(reverse("kit", args=[planned.slug, "K-M-02"])))
    cuts = client.get(reverse("cuts", args=[planned.slug]), {"site": "south"}).content.decode()
    assert cuts.count("Do not cut it") == 1


def test_the_list_says_how_many_kits_are_needed_by_today_and_cannot_be_built(planned, member_of):
    client = member_of(planned)
    text = build(client, planned).content.decode()
    assert "2 for planned changeouts are needed by today, and 2 of them cannot be built yet." in text
    LINES["kits"].objects.update(ready=True)
    LINES["kits"].objects.filter(machine="M-02").update(not_to_build="boom 1: Do not build D-100 for it.")
    text = build(client, planned).content.decode()
    assert "2 for planned changeouts are needed by today, and 1 of them cannot be built yet." in text
    assert [kit.machine for kit in build(client, planned, lacking="yes").context["page"]] == ["M-02"]
    line = LINES["kits"].objects.get(machine="M-01")
    made = {
        "key": line.kit,
        "state": KitState.MADE,
        "site": Site.objects.get(key=line.site),
        "begun_on": AS_OF,
    }
    Kit.objects.create(organization=planned, purpose="changeout", **made)
    assert (
        "1 for a planned changeout is needed by today, and 1 of that cannot be built yet."
        in build(client, planned).content.decode()
    )


def test_a_kit_has_a_page_of_its_own_with_the_cautions_of_the_bench(planned, member_of):
    text = member_of(planned).get(reverse("kit", args=[planned.slug, "K-M-01"])).content.decode()
    assert "813\N{NO-BREAK SPACE}mm" in text and "Never reuse" in text


def test_a_reason_that_many_positions_of_a_kit_share_is_told_once(planned, member_of):
    text = member_of(planned).get(reverse("kit", args=[planned.slug, "K-M-01"])).content.decode()
    assert "<strong>boom 1, boom 2, boom 3</strong>: The next window of the machine." in text


def test_a_kit_that_is_not_in_the_plan_does_not_exist(planned, member_of):
    assert member_of(planned).get(reverse("kit", args=[planned.slug, "K-9"])).status_code == 404


def test_cuts_stand_under_the_piece_they_come_off_in_the_order_of_cutting(planned, member_of):
    page = member_of(planned).get(reverse("cuts", args=[planned.slug]), {"site": "south"})
    (piece,) = page.context["pieces"]
    assert (piece["piece"], len(piece["cuts"])) == ("R-1", 3)
    rows = [cut.row for cut in piece["cuts"]]
    assert rows == sorted(rows)


def test_a_cut_whose_assembly_lacks_other_parts_says_until_when(planned, member_of):
    client = member_of(planned, Role.SHOP)
    address = reverse("cuts", args=[planned.slug])
    LINES["kit_lines"].objects.update(short_by=0)
    assert "lacks other parts" not in client.get(address, {"site": "south"}).content.decode()
    lines = LINES["kit_lines"].objects.filter(kit="K-M-02", position="boom 1")
    (first, *_others) = lines
    first.pk, first.line, first.part, first.short_by, first.available_on = None, 99, "E-08", 1, day(9)
    first.save()
    text = client.get(address, {"site": "south"}).content.decode()
    assert text.count("Its assembly lacks other parts until") == 1 and "13 May 2026" in text
    lines.filter(line=99).update(available_on=None)
    text = client.get(address, {"site": "south"}).content.decode()
    assert "Its assembly lacks other parts, and nothing says when they come." in text


def test_what_goes_to_the_bench_on_paper_has_a_button_that_prints_it_where_a_script_runs(planned, member_of):
    client = member_of(planned, Role.SHOP)
    for name, keys, query in (
        ("cuts", [], {"site": "south"}),
        ("build_sheet", ["K-M-01"], {}),
        ("changeout", ["M-01", "C-M-01"], {}),
        ("tags", [], {"machine": "M-01"}),
    ):
        text = client.get(reverse(name, args=[planned.slug, *keys]), query).content.decode()
        assert '<button type="button" class="screen-only" data-print hidden>Print</button>' in text, name
        assert "fleet/print" in text, name


def test_without_a_plan_the_page_says_what_to_do_next(gravel, member_of):
    assert "There is no fleet yet" in build(member_of(gravel), gravel).content.decode()


def test_cuts_can_be_kept_to_the_kits_needed_by_a_day(planned, member_of):
    LINES["kits"].objects.filter(machine="M-02").update(needed_by=day(20))
    client, address = member_of(planned, Role.SHOP), reverse("cuts", args=[planned.slug])
    assert client.get(address, {"site": "south", "until": day(19).isoformat()}).context["pieces"] == []
    (piece,) = client.get(address, {"site": "south", "until": day(20).isoformat()}).context["pieces"]
    assert [cut.needed_by for cut in piece["cuts"]] == [day(20)] * 3


@pytest.mark.parametrize("until", ["2026-02-31", "２020-02-28"])
def test_a_day_that_there_is_not_keeps_every_cut(planned, member_of, until):
    page = member_of(planned).get(reverse("cuts", args=[planned.slug]), {"site": "south", "until": until})
    assert page.context["page"].paginator.count == 3


@pytest.fixture
def with_ends(planned):
    """The kit of M-01 takes an end and a ferrule for its first hose."""
    first = LINES["kit_lines"].objects.filter(kit="K-M-01").first()
    for row, (part, kind) in enumerate((("E-08", "hose_end"), ("F-08", "ferrule")), start=900):
        LINES["kit_lines"].objects.create(
            plan=first.plan,
            row=row,
            kit=first.kit,
            line=first.line,
            position=first.position,
            design=first.design,
            part=part,
            kind=kind,
            quantity=1,
            unit="each",
            short_by=0,
        )
    return planned


def test_a_kit_says_how_far_to_crimp_by_the_chart_of_that_hose_end_and_ferrule(with_ends, member_of):
    """0.835 in with 0.005 in above and below, as the chart of the small fleet has it."""
    set_setting(with_ends, "length_unit", "in")
    page = member_of(with_ends, Role.SHOP).get(reverse("kit", args=[with_ends.slug, "K-M-01"]))
    end = page.context["sheets"].sheets[0].ends[0]
    assert (end.hose, end.part, end.crimps[0].ferrule) == ("H-2SN-08", "E-08", "F-08")
    text = page.content.decode()
    for told in ("0.835", "0.840", "0.830", "C-7 revision 2"):
        assert told in text


def test_a_hose_without_a_chart_for_its_very_ferrule_is_not_to_be_crimped(with_ends, member_of):
    client, address = member_of(with_ends), reverse("kit", args=[with_ends.slug, "K-M-01"])
    other = Part.objects.create(organization=with_ends, key="F-09", kind="ferrule")
    CrimpSpec.objects.update(ferrule_part=other)
    page = client.get(address)
    assert page.context["sheets"].sheets[0].ends[0].crimps == ()
    CrimpSpec.objects.all().delete()
    assert "do not crimp before one is on record" in client.get(address).content.decode()
