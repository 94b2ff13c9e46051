"""A program reads the sheets that a person works from, cautions included."""

from fleet.models import LINES


def test_the_build_sheets_of_a_kit_come_with_the_cautions(planner, plan):
    told = planner.get("/api/v1/kits/gravel/sheet/").json()
    assert told["cautions"][0]["code"] == "never_reuse"
    assert (told["kit"], told["begun"]) == ("gravel", False)
    assert told["notes"] == ["gravel: the design gravel has left the register. Make a new plan."]
    LINES["kit_lines"].objects.update(design="gravel design", position="gravel boom")
    (sheet,) = planner.get("/api/v1/kits/gravel/sheet/").json()["sheets"]
    assert sheet["cut"]["cut_length_mm"] is None
    assert "cut-off of gravel-hose_end is not on record" in sheet["cut"]["lacks"]
    assert [end["crimps"][0]["target_mm"] for end in sheet["ends"]] == [21.2, 21.2]
    assert sheet["proof"]["pressure_bar"] is None and sheet["proof"]["lacks"]


def test_the_sheet_of_a_stop_says_what_comes_before_and_after(planner, plan):
    LINES["changeouts"].objects.update(machine="gravel-1")
    told = planner.get("/api/v1/changeouts/gravel-1/gravel/sheet/").json()
    assert [one["code"] for one in told["cautions"]][:4] == ["isolate", "loads", "accumulators", "zero"]
    assert [one["code"] for one in told["after"]] == ["card", "label", "record"]
    assert (told["steps"][0]["order"], told["minutes"]) == (1, 0.25)
    assert (told["steps"][0]["angle_question"], told["kits"][0]["not_for_stop"]) == (None, [])


def test_what_is_not_there_is_not_found(planner, plan):
    for address in ("kits/K-none/sheet/", "changeouts/gravel-1/C-none/sheet/", "kits/%00/sheet/"):
        answer = planner.get(f"/api/v1/{address}")
        assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
