"""A program follows a crimper to every assembly, acts on all in place, and reads what is to be seen."""

from fleet.models import Assembly, ChangeoutDecision, InspectionRequest, Role

from .conftest import DAY

GROUP = {"crimped_by": "Ines"}


def crimped(gravel) -> None:
    """Two assemblies that Ines crimped: one in place, one that came off."""
    now = Assembly.objects.get(key="gravel-A1")
    Assembly.objects.filter(pk=now.pk).update(crimped_by="Ines")
    Assembly.objects.create(
        organization=gravel, key="gravel-A0", position=now.position, crimped_by="Ines", design=now.design,
        installed_on=DAY.replace(year=2020), removed_on=DAY, removal_cause="failed",
    )  # fmt: skip


def test_a_group_is_followed_to_all_its_assemblies_past_ones_too(planner, gravel, quarry):
    crimped(gravel)
    found = planner.get("/api/v1/groups/", GROUP).json()["results"]
    assert [(one["assembly"], one["in_place"], one["removal_cause"]) for one in found] == [
        ("gravel-A0", False, "failed"),
        ("gravel-A1", True, None),
    ]
    both = planner.get("/api/v1/groups/", {**GROUP, "position": "gravel-1/gravel boom", "lot": "L-9"}).json()
    assert both["results"] == []
    misspelt = planner.get("/api/v1/groups/", {"crimped": "Ines"})
    assert (misspelt.status_code, "crimped_by" in misspelt.json()["text"]) == (400, True)


def test_all_of_a_group_in_place_is_asked_to_be_looked_at_and_one_request_withdrawn(planner, gravel):
    crimped(gravel)
    sent = {"group": GROUP, "by_day": "2099-01-01", "reason": "crimps out of band"}
    told = planner.post("/api/v1/groups/look/", sent, format="json")
    assert (told.status_code, told.json()["made"], told.json()["stood"]) == (201, 1, 0)
    assert told.json()["cautions"]
    assert planner.post("/api/v1/groups/look/", sent, format="json").json()["stood"] == 1

    (look,) = planner.get("/api/v1/looks/").json()["results"]
    assert (look["assembly"], look["by_day"], look["reason"]) == (
        "gravel-A1", "2099-01-01", "crimps out of band",
    )  # fmt: skip
    assert look["cautions"]
    assert planner.delete(f"/api/v1/looks/{look['request']}/").status_code == 204
    assert planner.delete(f"/api/v1/looks/{look['request']}/").status_code == 404
    assert planner.get("/api/v1/looks/").json()["results"] == []


def test_all_of_a_group_in_place_is_set_to_be_changed(planner, gravel):
    crimped(gravel)
    sent = {"group": GROUP, "not_after": "2099-01-01", "reason": "a bad batch"}
    assert planner.post("/api/v1/groups/change/", sent, format="json").json()["made"] == 1
    decided = ChangeoutDecision.objects.get()
    assert (decided.assembly.key, decided.kind, decided.reason) == ("gravel-A1", "not_after", "a bad batch")


def test_a_group_without_a_name_or_with_nothing_in_place_is_refused(planner, gravel):
    for group in ({}, {"lot": "nobody knows"}):
        sent = {"group": group, "by_day": "2099-01-01", "reason": "look"}
        answer = planner.post("/api/v1/groups/look/", sent, format="json")
        assert (answer.status_code, answer.json()["code"]) == (400, "nothing_in_place")
    assert not InspectionRequest.objects.exists()


def test_the_shop_reads_what_is_to_be_looked_at_and_sets_nothing(gravel, member, client_of):
    shop = client_of(member(gravel, Role.SHOP))
    assert shop.get("/api/v1/looks/").status_code == 200
    sent = {"group": {"design": "gravel design"}, "by_day": "2099-01-01", "reason": "look"}
    assert shop.post("/api/v1/groups/look/", sent, format="json").status_code == 403
