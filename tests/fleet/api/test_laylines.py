"""A program asks what an old hose is."""

from fleet.models import Part


def test_a_layline_is_read_and_the_hoses_called_the_same_are_named(planner, gravel):
    Part.objects.filter(kind="bulk_hose").update(construction="SAE 100R2AT", dash=8)
    answer = planner.get("/api/v1/identify/layline/", {"line": "100R2 -8 27,5 MPa 3Q19 BRAND-X"})
    told = answer.json()
    assert answer.status_code == 200 and told["cautions"][0]["code"] == "never_reuse"
    read = told["read"]
    assert (read["constructions"], read["dash"], read["bore_mm"]) == (["100R2"], 8, 12.7)
    assert read["pressure"] == {"pressure_bar": 275.0, "printed": "27,5 MPa"}
    assert (read["made"]["first_day"], read["made"]["last_day"]) == ("2019-07-01", "2019-09-30")
    assert read["not_understood"] == ["BRAND-X"] and read["tabulated"][0]["mark"] == "memory"
    (same,) = told["same_hoses"]
    assert (same["part"], same["construction"], same["on_hand_m"]) == ("gravel-bulk_hose", "100R2", 12.5)


def test_the_hoses_of_another_organization_are_not_named(planner, gravel, quarry):
    Part.objects.filter(organization=quarry, kind="bulk_hose").update(construction="100R2", dash=8)
    assert planner.get("/api/v1/identify/layline/", {"line": "100R2 -8"}).json()["same_hoses"] == []


def test_what_the_line_does_not_say_is_missing(planner):
    read = planner.get("/api/v1/identify/layline/", {"line": "2SN 12"}).json()["read"]
    assert read["missing"] == ["size", "working pressure", "date of making"]
    assert read["doubts"] == ["12 may be dash 8 or dash 12."]


def test_a_thread_comes_with_its_look_alikes_and_what_to_measure_next(planner):
    told = planner.get("/api/v1/identify/threads/", {"male_mm": 14.2, "threads_per_inch": 18}).json()
    first = told["candidates"][0]
    assert first["thread"]["thread"] == "9/16-18" and first["agrees"] == ["diameter", "pitch"]
    assert "M14×1.5" in [one["thread"] for one in first["look_alikes"]]
    assert [one["measure"] for one in told["next_measures"]] == ["taper", "seat"]


def test_a_flange_is_named_by_its_bolts(planner):
    query = {"bolts_long_mm": 57.2, "bolts_short_mm": 27.8}
    first = planner.get("/api/v1/identify/flanges/", query).json()["candidates"][0]
    assert (first["flange"]["code"], first["flange"]["dash"], first["verdict"]) == ("62", 16, "certain")


def test_a_measure_that_cannot_be_is_refused_by_its_field(planner):
    answer = planner.get("/api/v1/identify/threads/", {"male_mm": "wide"})
    assert answer.status_code == 400
    assert [one["field"] for one in answer.json()["fields_wrong"]] == ["male_mm"]
