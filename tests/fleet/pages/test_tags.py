"""Tags are printed with what is known and nothing from memory; a scanned one opens its assembly."""

from django.urls import reverse

from fleet.models import Assembly, InspectionRequest, Kit, KitAssembly, KitPart, Part, Role, StockPiece
from tests.fleet.pages.reading import read
from tests.fleet.pages.small_fleet import AS_OF, set_setting

SLUG = "gravel-works"


def rate(**bars: float) -> None:
    for key, bar in bars.items():
        Part.objects.filter(key=key.replace("_", "-")).update(rated_pressure_bar=bar)


def labels(client, query: str) -> list[str]:
    page = client.get(reverse("tags", args=[SLUG]) + query).content.decode()
    return [one.partition("</article>")[0] for one in page.split('<article class="label"')[1:]]


def test_a_label_shows_key_rating_dash_length_and_built_date(planned, member_of):
    rate(H_2SN_08=350, E_08=420)
    (label,) = labels(member_of(planned), "?assembly=A-1-1")
    for shown in ("A-1-1", "350\u00a0bar", "-8", "902\u00a0mm", "10 Mar 2025", "<svg"):
        assert shown in label
    set_setting(planned, "pressure_unit", "psi")
    (label,) = labels(member_of(planned, Role.VIEWER), "?assembly=A-1-1")
    assert "5,076\u00a0psi" in label


def test_no_rating_from_memory_and_none_of_only_some_parts_is_printed(planned, member_of):
    client = member_of(planned)
    rate(E_08=420)  # the standard's table knows the hose, from memory
    assert "rating not known" in labels(client, "?assembly=A-1-1")[0]
    Part.objects.filter(key="E-08").update(rated_pressure_bar=None)
    rate(H_2SN_08=350)
    assert "rating not known" in labels(client, "?assembly=A-1-1")[0]


def test_an_assembly_built_with_another_hose_bears_the_rating_of_that_hose(planned, member_of):
    rate(H_2SN_08=350, E_08=420)
    assembly = Assembly.objects.get(key="A-1-1")
    own = {"organization": planned}
    other = Part.objects.create(
        **own, key="H-OTHER", kind="bulk_hose", unit="metre", dash=8, rated_pressure_bar=280
    )
    site = assembly.position.machine.site
    kit = Kit.objects.create(**own, key="K-1", site=site, purpose="changeout", begun_on=AS_OF)
    line = KitAssembly.objects.create(
        **own, kit=kit, number=1, design=assembly.position.design, assembly=assembly
    )
    piece = StockPiece.objects.create(**own, part=other, site=site, on_hand=1)
    KitPart.objects.create(
        **own, kit_assembly=line, place="hose", part=other, quantity=0.8, piece=piece, state="used"
    )
    (label,) = labels(member_of(planned), "?kit=K-1")
    assert "280\u00a0bar" in label


def test_a_sheet_holds_what_was_asked_for_and_nothing_that_came_off(planned, member_of):
    client = member_of(planned)
    Assembly.objects.create(organization=planned, key="S-1")
    assert len(labels(client, "?machine=M-01")) == 3
    assert len(labels(client, "?machine=M-01&shelf=yes&paper=letter")) == 4
    assert len(labels(client, "?assembly=A-1-1&assembly=A-2-1")) == 2
    assert labels(client, "?assembly=A-1-1-first") == []
    assert "rating not known" in labels(client, "?shelf=yes")[0]


def test_a_scanned_tag_asks_to_sign_in_and_then_opens_its_assembly(planned, client):
    address = reverse("tag", args=[SLUG, "A-1-1"])
    answer = client.get(address)
    assert (answer.status_code, answer["Location"]) == (302, f"/sign-in/?next={address}")


def test_whoever_may_not_see_it_is_told_that_it_does_not_exist(planned, quarry, member_of):
    client = member_of(quarry)
    assert client.get(reverse("tag", args=[SLUG, "A-1-1"])).status_code == 404
    assert client.get(reverse("tags", args=[SLUG]) + "?assembly=A-1-1").status_code == 404


def test_the_page_of_a_tag_says_what_it_is_where_it_is_and_what_is_asked(planned, member_of):
    assembly = Assembly.objects.get(key="A-1-1")
    InspectionRequest.objects.create(
        organization=planned, assembly=assembly, asked_on=AS_OF, by_day=AS_OF, reason="crimped by bench 2"
    )
    page = read(member_of(planned).get(reverse("tag", args=[SLUG, "A-1-1"])))
    for shown in ("M-01, boom 1", "over its rating", "To be changed on", "Prove zero pressure"):
        assert shown in page
    for shown in ("crimped by bench 2", "Put a new one on here", "Take it off", "Inspect it"):
        assert shown in page


def test_a_viewer_reads_a_tag_and_records_nothing(planned, member_of):
    client = member_of(planned, Role.VIEWER)
    page = client.get(reverse("tag", args=[SLUG, "A-1-1"])).content.decode()
    assert "Take it off" not in page
    sent = client.post(reverse("record", args=[SLUG, "A-1-1"]), {"act": "inspect", "grade": "fit"})
    assert sent.status_code == 403


def test_what_came_off_offers_no_work(planned, member_of):
    page = member_of(planned).get(reverse("tag", args=[SLUG, "A-1-1-first"])).content.decode()
    assert "A hose is never used again." in page
    assert "Take it off" not in page


def test_from_what_came_off_ways_lead_on(planned, member_of):
    shop, address = member_of(planned, Role.SHOP), reverse("tag", args=[SLUG, "A-1-1-first"])
    machine = f'href="{reverse("machine", args=[SLUG, "M-01"])}"'
    page = shop.get(address).content.decode()
    assert "In its place now: A-1-1</a>" in page and machine in page and "Put a new one" not in page
    Assembly.objects.filter(key="A-1-1").update(removed_on=AS_OF)
    page = shop.get(address).content.decode()
    assert "Put a new one on M-01 boom 1</a>" in page and machine in page
    assert f'href="{reverse("burst", args=[SLUG, "M-01", "boom 1"])}"' in page
