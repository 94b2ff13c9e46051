"""The bench on the pages: begun with a tap, recorded step by step, nothing typed is lost."""

import datetime
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import LINES, Assembly, Kit, KitAssembly, KitState, Plan, Position, Role, StockPiece
from fleet.services.shop.bench import accept_build
from fleet.services.shop.kits import begin_kit
from tests.fleet.bench_builders import a_record, lay_plenty, open_shop, plan_kit
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import set_setting


@pytest.fixture
def shop(db):
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    return shop


@pytest.fixture
def smith(shop, member_of):
    return member_of(shop, Role.SHOP)


def page(name: str, shop, *keys) -> str:
    return reverse(name, args=[shop.slug, *keys])


def begun(shop) -> None:
    begin_kit(organization=shop, user=None, kit="K-1")


def sent(**more) -> dict:
    """A form with nothing against it."""
    usual = {
        "built_on": timezone.localdate().isoformat(),
        "cut_length": "1000",
        "cleanings_before": "2",
        "cleanings_after": "1",
        "proof_pressure": "600",
        "proof_seconds": "30",
        "proof_medium": "water",
        "built_by": "bench 1",
        "accepted_by": "Ada",
    }
    for end in "ab":
        usual |= {f"inserted_before_{end}": "on", f"inserted_after_{end}": "on"}
        usual |= {f"reading_{end}_{number}": "21.2" for number in (1, 2, 3)}
    return {name: value for name, value in (usual | more).items() if value is not None}


def test_a_kit_is_begun_from_its_page_and_then_stands_at_the_bench(shop, smith):
    assert "Begin this kit" in smith.get(page("kit", shop, "K-1")).content.decode()
    answer = smith.post(page("begin_kit", shop, "K-1"), follow=True)
    assert answer.redirect_chain[-1][0] == page("begun", shop)
    text = read(answer)
    assert "K-1 is at the bench: its parts are set aside." in text
    assert text.count("Record the build") == 2
    assert "lot LH" in text
    text = smith.get(page("kit", shop, "K-1")).content.decode()
    assert "being built" in text
    assert "Begin this kit" not in text
    assert "its parts are set aside" in smith.get(page("build", shop)).content.decode()


def test_a_kit_that_lacks_something_says_what_and_offers_to_begin_the_rest(shop, smith):
    StockPiece.objects.filter(part__key="E-08").update(on_hand=3)
    text = read(smith.post(page("begin_kit", shop, "K-1"), follow=True))
    assert "1 of E-08" in text
    assert "Begin what can be built; the rest waits" in text
    text = smith.post(page("begin_kit", shop, "K-1"), {"partly": "yes"}, follow=True).content.decode()
    assert "waits for parts" in text
    assert "Set aside what has come since" in text


def test_a_build_that_passes_leads_to_its_assembly_and_the_next_of_the_kit(shop, smith):
    begun(shop)
    shown = smith.get(page("record_build", shop, "K-1", 1))
    assert "21.07\N{NO-BREAK SPACE}mm" in shown.content.decode()

    answer = smith.post(page("record_build", shop, "K-1", 1), sent(), follow=True)

    assert answer.redirect_chain[-1][0] == page("built", shop, "K-1", 1)
    text = answer.content.decode()
    assert page("tag", shop, "A-0001") in text and "?assembly=A-0001&amp;paper=label" in text
    assert page("record_build", shop, "K-1", 2) in text
    made = Assembly.objects.get()
    assert (made.crimped_by, made.build.accepted_by, made.build.proof_medium) == ("bench 1", "Ada", "water")
    assert smith.get(page("record_build", shop, "K-1", 1)).status_code == 302


def test_a_record_tells_the_proof_and_the_unit_of_its_readings(shop, smith):
    begun(shop)
    text = read(smith.get(page("record_build", shop, "K-1", 1)))
    assert "600 bar" in text and "twice the 300 bar of H-08" in text
    assert "End a, reading 1 (mm)" in text


def test_nobody_stands_yet_for_accepting_what_goes_onto_a_critical_position(shop, smith):
    begun(shop)
    address = page("record_build", shop, "K-1", 1)
    assert smith.get(address).context["form"].initial["accepted_by"]
    Position.objects.update(critical=True)
    shown = smith.get(address)
    assert shown.context["form"].initial["accepted_by"] == ""
    assert "a named competent person accepts it" in shown.content.decode()


def test_a_record_begins_with_nothing_measured_and_says_what_is_asked_and_how_often_to_measure(shop, smith):
    begun(shop)
    shown = smith.get(page("record_build", shop, "K-1", 1))
    text = shown.content.decode()
    measured = ("cut_length", "proof_pressure", "proof_seconds", "reading_a_1", "cleanings_before")
    assert not any(shown.context["form"].initial.get(name) for name in measured)
    assert "asked for: 1,000\N{NO-BREAK SPACE}mm; enter what you measured" in text
    assert text.count("At least 3 places round the crimp, each in a box of its own") == 2


def test_who_crimped_and_accepts_alone_on_a_critical_position_answers_for_it_with_a_tick(shop, smith):
    Position.objects.update(critical=True)
    begun(shop)
    address, alone = (
        page("record_build", shop, "K-1", 1),
        sent(built_by="Ada Smith", accepted_by="ada smith "),
    )
    answer = smith.post(address, alone)
    assert answer.status_code == 422
    assert "ada smith both crimped the assembly and accepts it: a second person" in answer.content.decode()
    smith.post(address, alone | {"confirm": ["accepted_by_who_crimped_it"]})
    assert Assembly.objects.get().build.remarks == "answered for: accepted by who crimped it"


def test_a_record_that_a_script_sends_twice_counts_once_and_is_answered_in_json(shop, smith):
    begun(shop)
    form, accept = {"token": str(uuid.uuid4())}, {"HTTP_ACCEPT": "application/json"}
    wrong = smith.post(page("record_build", shop, "K-1", 1), sent(reading_a_1="21.9", **form), **accept)
    assert (wrong.status_code, "21.9 mm is over the band" in wrong.json()["text"]) == (422, True)
    first = smith.post(page("record_build", shop, "K-1", 1), sent(**form), **accept)
    again = smith.post(page("record_build", shop, "K-1", 1), sent(**form, later="yes"), **accept)
    assert first.json()["next"] == page("built", shop, "K-1", 1)
    assert again.json()["told"].startswith("A-0001 is accepted.")
    assert Assembly.objects.count() == 1
    another = smith.post(page("record_build", shop, "K-1", 1), sent(token=str(uuid.uuid4())), **accept)
    assert (another.status_code, "is made already" in another.json()["text"]) == (422, True)


def test_what_refuses_stands_beside_its_field_and_nothing_typed_is_lost(shop, smith):
    begun(shop)
    answer = smith.post(
        page("record_build", shop, "K-1", 1),
        sent(reading_b_1="21.5", inserted_after_a=None, gauge="calliper 7"),
    )
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert set(errors) == {"reading_b_1", "inserted_after_a"}
    assert "21.5 mm is over the band" in errors["reading_b_1"][0]
    text = answer.content.decode()
    assert 'value="21.5"' in text and 'value="calliper 7"' in text
    assert not Assembly.objects.exists()


def test_what_is_questioned_is_accepted_once_somebody_ticks_it(shop, smith):
    begun(shop)
    few = sent(reading_a_3=None, cleanings_after=None)
    answer = smith.post(page("record_build", shop, "K-1", 1), few)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'name="confirm" value="few_readings"' in text
    assert not Assembly.objects.exists()
    smith.post(page("record_build", shop, "K-1", 1), few | {"confirm": ["few_readings", "not_cleaned_after"]})
    assert Assembly.objects.get().build.remarks == "answered for: few readings; not cleaned after"


def test_what_was_made_longer_than_drawn_stands_at_its_true_length_everywhere(shop, smith):
    """1,010 mm of hose and twice 50 mm of cut-off are 1,110 mm over all, whatever the drawing says."""
    begun(shop)
    smith.post(
        page("record_build", shop, "K-1", 1), sent(cut_length="1010") | {"confirm": ["cut_off_length"]}
    )
    told = "1,110 mm <small>as made; its drawing asks for 1,100 mm</small>"
    for name in ("assembly", "tag"):
        text = smith.get(page(name, shop, "A-0001")).content.decode().replace("\N{NO-BREAK SPACE}", " ")
        assert told in text, name
    label = smith.get(page("tags", shop), {"assembly": "A-0001"}).content.decode()
    assert "<p>1,110\N{NO-BREAK SPACE}mm</p>" in label


def test_what_was_recorded_is_told_after_it_is_accepted_and_on_the_assemblys_own_page(shop, smith):
    begun(shop)
    record = sent(gauge="calliper 1", die="21", proof_seconds="45", reading_b_2="21.25")
    accepted = smith.post(page("record_build", shop, "K-1", 1), record, follow=True)
    for answer in (accepted, smith.get(page("assembly", shop, "A-0001"))):
        text = answer.content.decode().replace("\N{NO-BREAK SPACE}", " ")
        for told in (
            "21.20 mm, 21.25 mm, 21.20 mm",
            "calliper 1",
            "600 bar, 45 s, with water",
            "yes, by Ada",
        ):
            assert told in text


def test_inches_and_psi_are_kept_as_they_were_typed(shop, smith):
    set_setting(shop, "length_unit", "in")
    set_setting(shop, "pressure_unit", "psi")
    begun(shop)
    asked = smith.get(page("record_build", shop, "K-1", 1)).content.decode()
    assert "asked for: 39.37\N{NO-BREAK SPACE}in; enter what you measured" in asked
    readings = {f"reading_{end}_{number}": "0.835" for end in "ab" for number in (1, 2, 3)}
    answer = smith.post(
        page("record_build", shop, "K-1", 1), sent(cut_length="39.37", proof_pressure="8750", **readings)
    )
    assert answer.status_code == 302, answer.context["form"].errors
    build = Assembly.objects.get().build
    assert build.entered == {"cut_length": [39.37, "in"], "proof_pressure": [8750.0, "psi"]}
    assert build.crimp_readings.first().entered == {"diameter": [0.835, "in"]}
    assert (build.cut_length_mm, round(build.proof_pressure_bar)) == (999.998, 603)


def test_a_spoilt_build_is_scrapped_with_a_reason(shop, smith):
    begun(shop)
    assert smith.post(page("scrap_build", shop, "K-1", 1), {"reason": ""}).status_code == 422
    answer = smith.post(page("scrap_build", shop, "K-1", 1), {"reason": "crimped too far"}, follow=True)
    assert "Parts for the next try are set aside." in answer.content.decode()
    assert StockPiece.objects.get(part__key="H-08").on_hand == 18.997


def test_a_kit_whose_spoilt_parts_are_not_there_again_is_said_to_wait(shop, smith):
    begun(shop)
    StockPiece.objects.filter(part__key="E-08").update(on_hand=4)
    smith.post(page("scrap_build", shop, "K-1", 1), {"reason": "crimped too far"})
    text = smith.get(page("build", shop)).content.decode()
    assert "it waits for parts" in text and "its parts are set aside" not in text
    assert "Begin this kit" not in smith.get(page("kit", shop, "K-1")).content.decode()


def test_a_kit_whose_changeout_is_gone_is_named_and_taken_apart_on_a_persons_word(shop, smith):
    begun(shop)
    LINES["changeouts"].objects.all().delete()
    text = smith.get(page("begun", shop)).content.decode()
    assert "No changeout asks for it any more:" in text
    assert "M-01 boom" in text
    answer = smith.post(page("take_apart", shop, "K-1"), {"cut": ["2"]}, follow=True)
    assert "1 m of H-08 comes back as offcut R-1-2." in read(answer)
    assert Kit.objects.get().state == KitState.TAKEN_APART


def test_one_that_no_plan_asked_for_is_begun_for_a_burst_and_goes_to_its_record(shop, smith):
    asked = {"site": "north", "machine": "M-01", "position": "boom", "design": ""}
    answer = smith.post(page("begin_one", shop), asked, follow=True)
    assert answer.status_code == 200
    assert "Build record" in answer.content.decode()
    assert smith.post(page("begin_one", shop), asked).status_code == 422


def test_a_kit_that_is_made_says_what_is_fitted_and_what_waits_and_is_cut_no_more(shop, smith):
    begun(shop)
    for number in (1, 2):
        smith.post(page("record_build", shop, "K-1", number), sent())
    boom = Position.objects.get(key="boom")
    Assembly.objects.filter(key="A-0001").update(position=boom, installed_on=timezone.localdate())
    text = " ".join(smith.get(page("build", shop)).content.decode().split())
    assert "A-0001</a> (fitted), " in text and "A-0002</a> (waits to be fitted)." in text
    kit = smith.get(page("kit", shop, "K-1")).content.decode()
    assert "made and fitted" in kit and "waits to be fitted: assembly" in kit and "Begin this kit" not in kit
    assert "2 more cuts are begun or made" in smith.get(page("cuts", shop)).content.decode()
    KitAssembly.objects.filter(number=2).delete()
    assert "1 of its 2 assemblies is begun or made." in smith.get(page("build", shop)).content.decode()


def test_who_only_looks_begins_nothing(shop, member_of):
    viewer = member_of(shop, Role.VIEWER)
    begun(shop)
    assert viewer.get(page("begun", shop)).status_code == 200
    assert "Record the build" not in viewer.get(page("begun", shop)).content.decode()
    for name, keys in (("begin_kit", ["K-1"]), ("take_apart", ["K-1"]), ("record_build", ["K-1", 1])):
        assert viewer.post(page(name, shop, *keys)).status_code == 403


def test_another_organizations_bench_does_not_exist(shop, quarry, member_of):
    begun(shop)
    stranger = member_of(quarry, Role.OWNER)
    assert stranger.get(page("begun", shop)).status_code == 404
    for name, keys in (("take_apart", ["K-1"]), ("record_build", ["K-1", 1]), ("scrap_build", ["K-1", 1])):
        assert stranger.get(page(name, quarry, *keys)).status_code == 404


def test_the_cut_list_leaves_out_what_the_bench_has_begun(shop, smith):
    cuts = page("cuts", shop) + "?site=north"
    assert len(smith.get(cuts).context["page"]) == 2
    StockPiece.objects.filter(part__key="E-08").update(on_hand=3)
    begin_kit(organization=shop, user=None, kit="K-1", partly=True)
    shown = smith.get(cuts)
    assert len(shown.context["page"]) == 1
    assert "1 more cut is begun or made since the plan" in shown.content.decode()
    sheet = b"".join(smith.get(cuts + "&save=csv").streaming_content).decode()
    assert len(sheet.splitlines()) == 2


def test_a_shelf_tells_what_of_a_piece_is_set_aside(shop, smith):
    begun(shop)
    for address in (page("part", shop, "H-08"), page("count_stock", shop) + "?part=H-08&site=north"):
        text = smith.get(address).content.decode()
        assert "2.01\N{NO-BREAK SPACE}m" in text and "set aside for kits at the bench" in text


def test_a_kit_reads_as_fitted_where_the_plan_began_before_that_was_recorded(shop, smith):
    """By the record and not by its day: a plan of the same evening asks for another, and its cuts stand."""
    plan = Plan.objects.get()
    begun(shop)
    for number, position in enumerate(("boom", "arm"), 1):
        made = accept_build(
            organization=shop, user=None, kit="K-1", number=number, record=a_record()
        ).assembly
        made.position, made.installed_on = Position.objects.get(key=position), plan.as_of
        made.save()
    Plan.objects.update(started_at=timezone.now() - datetime.timedelta(hours=2))
    assert "(fitted)" in smith.get(page("build", shop)).content.decode()
    assert smith.get(page("cuts", shop)).context["begun_cuts"] == 2
    Plan.objects.update(started_at=timezone.now())
    assert "(fitted)" not in smith.get(page("build", shop)).content.decode()
    assert smith.get(page("cuts", shop)).context["begun_cuts"] == 0
