"""What may stand in for a hose, and what each that may not lacks."""

import numpy as np
import pytest

from fleet.trade.ratings import load_ratings
from forecasting.policies import Settings
from forecasting.suitability.candidates import CANDIDATES, judge_stand_ins, rank_stand_ins
from forecasting.suitability.ends import ENDS_JUDGED
from forecasting.suitability.needs import need_of_hose, need_of_position
from forecasting.tables import check_table
from tests.forecasting.builders import (
    AS_OF,
    a_design,
    a_machine,
    a_position,
    a_site,
    build_tables,
    hose,
    hose_end,
)
from tests.forecasting.stock_builders import on_shelf

HOSE = {
    "maximum_temperature_c": 100.0,
    "minimum_temperature_c": -40.0,
    "minimum_bend_radius_mm": 130.0,
    "bore_mm": 9.5,
    "material": "nitrile",
    "conductive": True,
}
END = {"end_style": "37° flare female swivel", "thread": "9/16-18 UNF"}


def crimp(hose_part, end_part="E-6", ferrule_part=None):
    return {
        "hose_part": hose_part,
        "end_part": end_part,
        "ferrule_part": ferrule_part,
        "crimp_diameter_mm": 21.2,
    }


def other(part="H-9", **more):
    return hose(part, **{**HOSE, **more})


def tables_of(*more, place=None, crimps=(), **rows):
    """One position of design D-1: hose H-6 of 330 bar with two ends E-6, and what else the catalogue has."""
    usual = {
        "sites": [a_site(), a_site("South")],
        "machines": [a_machine()],
        "parts": [hose(**HOSE), hose_end(**END), *more],
        "designs": [a_design()],
        "positions": [a_position(**{"flow_lpm": 30.0, "bend_radius_mm": 150.0, **(place or {})})],
        "crimp_specs": [crimp("H-6"), *crimps],
    }
    return build_tables(**{**usual, **rows}) | {"ratings": load_ratings()}


def ranked(need, tables, *units):
    return rank_stand_ins(judge_stand_ins(need, tables, *units), tables, "North", AS_OF)


def judge(*more, crimped=True, **given):
    crimps = [crimp(one["part"]) for one in more if one["kind"] == "bulk_hose" and crimped]
    tables = tables_of(*more, **{"crimps": crimps, **given})
    found = ranked(need_of_position(tables, "M-1", "boom 1"), tables)
    check_table(found.candidates, CANDIDATES)
    check_table(found.ends, ENDS_JUDGED)
    return found


def told_of(part="H-9", *more, **given):
    """The verdict on that hose with the position's own ends, and why."""
    rows = judge(*more, **given).candidates
    (row,) = rows[rows["hose_part"] == part].to_dict("records")
    return row["verdict"], "" if row["reason"] is np.nan else row["reason"]


def test_what_belongs_there_fits_and_is_cut_to_its_length():
    (own,) = judge().candidates.to_dict("records")
    assert (own["verdict"], own["kinship"]) == ("fits", "own")
    assert own["cut_length_mm"] == pytest.approx(901.7 - 2 * 44.45)
    assert own["velocity_m_s"] == pytest.approx(21.22 * 30 / 9.5**2)


@pytest.mark.parametrize(
    ("of_hose", "place", "verdict", "why"),
    [
        ({"rated_pressure_bar": 420.0}, {}, "fits", ""),  # over the rating is allowed
        ({"rated_pressure_bar": 225.0}, {}, "unfit", "peak 250 bar is above the 225 bar rating of hose H-9"),
        ({"rated_pressure_bar": None, "construction": "100R2"}, {}, "not_judged", "from memory"),
        ({"rated_pressure_bar": None, "construction": None}, {}, "not_judged", "rating of hose H-9 is not"),
        ({}, {"fluid_temperature_c": 110.0}, "unfit", "hotter than the 100 °C of hose H-9"),
        ({"maximum_temperature_c": None, "construction": None}, {"fluid_temperature_c": 80.0}, "not_judged",
         "heat is not judged"),
        ({"minimum_bend_radius_mm": 180.0}, {}, "unfit", "bent to 150 mm, tighter than the 180 mm of hose"),
        ({"minimum_bend_radius_mm": None, "construction": None}, {}, "not_judged", "the bend is not judged"),
        ({"bore_mm": 6.3}, {}, "unfit", "above the usual 10 m/s in a pressure line"),
        ({"bore_mm": 6.3}, {"flow_lpm": None}, "not_judged", "smaller than the 9.5 mm of H-6"),
        ({"bore_mm": 6.3}, {"flow_lpm": 5.0}, "fits", ""),
        ({"bore_mm": None, "dash": None}, {}, "not_judged", "the bore of hose H-9 is not on record"),
        ({"material": "EPDM"}, {}, "not_judged", "it is of EPDM and H-6 of nitrile"),
        ({"material": None}, {}, "not_judged", "of what hose H-9 is made is not on record"),
        ({"conductive": False}, {}, "unfit", "it does not conduct and H-6 does"),
        ({"conductive": None}, {}, "not_judged", "whether hose H-9 conducts is not on record"),
        ({"obsolete": True}, {}, "unfit", "H-9 is no longer made"),
        ({"outside_diameter_mm": 22.0}, {}, "fits", ""),
    ],
)  # fmt: skip
def test_another_hose_is_judged_by_all_that_its_place_asks(of_hose, place, verdict, why):
    said, reason = told_of("H-9", other(**of_hose), place=place)
    assert (said, why in reason) == (verdict, True), reason
    assert reason or verdict == "fits", "whatever does not pass says why"


def test_a_flow_that_is_fast_in_the_own_hose_already_bars_none_of_its_bore():
    verdict, reason = told_of("H-9", other(), place={"flow_lpm": 60.0})
    assert verdict == "fits"
    assert "its bore is no smaller than that of H-6, in which the flow is as fast" in reason
    assert told_of("H-9", other(bore_mm=6.3), place={"flow_lpm": 60.0})[0] == "unfit"


def test_nothing_conducts_where_the_own_hose_does_not():
    insulating = [hose(**HOSE | {"conductive": False}), hose_end(**END), other()]
    verdict, reason = told_of("H-9", parts=insulating, crimps=[crimp("H-9")])
    assert (verdict, reason) == ("unfit", "it conducts and H-6 does not: never near live lines")


def test_nothing_is_said_to_stand_the_fluid_where_nobody_knows_what_the_own_hose_is_made_of():
    bare = [hose(**HOSE | {"material": None, "conductive": None}), hose_end(**END), other()]
    verdict, reason = told_of("H-9", other(), parts=bare, place={"fluid": "phosphate ester"})
    assert verdict == "not_judged"
    assert "of what H-6 is made is not on record" in reason
    assert "near live lines only what does not conduct" in reason
    assert told_of("H-6", other(), parts=bare)[0] == "fits", "what belongs there is asked nothing"


@pytest.mark.parametrize("working", [1.0, None], ids=["its pressure", "what belongs there bears"])
def test_only_a_hose_made_for_it_may_stand_in_a_suction_line(working):
    place = {"line": "suction", "working_pressure_bar": working, "peak_pressure_bar": None, "flow_lpm": 5.0}
    own = [hose(**HOSE | {"construction": "100R4", "rated_pressure_bar": 20.0}), hose_end(**END)]
    crimps = [crimp(one) for one in ("H-5", "H-7", "H-8", "H-9")]
    more = [
        other("H-5", construction="100R4", rated_pressure_bar=15.0),
        other("H-7", construction="100R4", rated_pressure_bar=20.0),
        other("H-8", construction="100R6"),
        other(),
    ]
    rows = judge(parts=[*own, *more], place=place, crimps=crimps).candidates.set_index("hose_part")
    assert rows["verdict"].to_dict() == {
        "H-5": "fits" if working else "unfit",
        "H-6": "fits", "H-7": "fits", "H-8": "not_judged", "H-9": "not_judged",
    }  # fmt: skip


def test_ends_and_adapters_bear_the_pressure_too():
    weak = hose_end("E-9", rated_pressure_bar=210.0, **END)
    rows = judge(other(), weak, crimps=[crimp("H-9", "E-9")]).candidates.set_index("hose_part")
    assert rows.loc["H-9", "verdict"] == "unfit"
    assert "above the 210 bar rating of end E-9" in rows.loc["H-9", "reason"]
    adapter = {"part": "AD", "kind": "adapter", "rated_pressure_bar": 210.0}
    with_adapter = [{"design": "D-1", "place": "a", "part": "AD", "quantity": 1}]
    verdict, reason = told_of("H-9", other(), adapter, design_parts=with_adapter)
    assert (verdict, "210 bar rating of adapter AD" in reason) == ("unfit", True)


def test_without_a_crimp_for_that_very_hose_and_end_nothing_is_crimped():
    verdict, reason = told_of("H-9", other(), crimped=False)
    assert verdict == "not_judged"
    assert reason == (
        "no crimp is on record for it with a pair of ends that joins here (E-6): do not crimp before there "
        "is one"
    )
    verdict, reason = told_of("H-6", crimp_specs=[])
    assert verdict == "not_judged"
    assert "no crimp is on record for hose H-6 with end E-6" in reason


def test_a_hose_of_another_size_says_so():
    verdict, reason = told_of("H-9", other(dash=8.0, bore_mm=12.7), crimped=False)
    assert (verdict, reason) == ("unfit", "dash -8 does not go on the ends that join here, which are -6")


@pytest.mark.parametrize(
    ("of_end", "verdict", "why"),
    [
        ({}, "fits", ""),
        ({"thread": "9/16-18  unf"}, "fits", ""),
        ({"thread": "M14×1.5"}, "unfit", "its thread is m14×1.5, that of E-6 9/16-18 unf"),
        ({"thread": None}, "not_judged", "its thread is not on record"),
        ({"end_style": "flat face female swivel"}, "unfit", "flat face female swivel, not 37° flare"),
        ({"connection_dash": 8.0}, "unfit", "it joins size -8, E-6 size -6"),
        ({"obsolete": True}, "unfit", "it is no longer made"),
    ],
)
def test_an_end_joins_where_seat_thread_and_size_are_those_of_the_own_end(of_end, verdict, why):
    ends = judge(hose_end("E-9", **{**END, **of_end})).ends
    rows = ends[ends["part"] == "E-9"]
    assert rows["place"].tolist() == ["a", "b"]
    assert rows["verdict"].tolist() == [verdict] * 2
    assert all(why in reason for reason in rows["reason"].fillna(""))


def test_an_end_of_unknown_seat_is_joined_by_none_but_itself():
    parts = [hose(**HOSE), hose_end(), hose_end("E-9", **END)]
    assert judge(parts=parts[:2]).ends["verdict"].tolist() == ["fits", "fits"]
    ends = judge(parts=parts).ends
    assert ends.loc[ends["place"] == "a", ["part", "verdict"]].to_numpy().tolist() == [
        ["E-6", "fits"],
        ["E-9", "not_judged"],
    ]


def test_the_own_comes_first_then_its_successor_then_what_lies_here_then_by_cost():
    parts = [
        hose(**HOSE | {"superseded_by": "H-NEW"}),
        hose_end(**END),
        other("H-NEW", unit_cost=90.0),
        other("H-HERE", unit_cost=50.0),
        other("H-SHORT", unit_cost=3.0),
        other("H-CHEAP", unit_cost=2.0),
        other("H-AWAY", unit_cost=60.0),
    ]
    stock = [
        on_shelf("E-6", 4), on_shelf("E-6", 2, "South"),
        on_shelf("H-HERE", 2.0, piece="R-1"), on_shelf("H-AWAY", 2.0, "South"),
        on_shelf("H-SHORT", 0.5, piece="R-1"), on_shelf("H-SHORT", 0.5, piece="R-2"),
    ]  # fmt: skip
    crimps = [crimp(one["part"]) for one in parts if one["kind"] == "bulk_hose"]
    found = judge(parts=parts, crimps=crimps, crimp_specs=crimps, stock=stock)
    order = ["H-6", "H-NEW", "H-HERE", "H-AWAY", "H-CHEAP", "H-SHORT"]
    assert found.candidates["hose_part"].tolist() == order
    assert found.candidates["kinship"].tolist() == ["own", "successor", *["other"] * 4]
    by_candidate = found.candidates.set_index("candidate")["hose_part"]
    ready = found.ready.assign(hose=found.ready["candidate"].map(by_candidate))
    # Two pieces of half a metre make no hose of 813 mm.
    assert set(zip(ready["hose"], ready["site"], strict=True)) == {("H-HERE", "North"), ("H-AWAY", "South")}


def test_what_a_place_does_not_say_is_asked_of_what_belongs_there():
    place = {"working_pressure_bar": None, "peak_pressure_bar": None, "bend_radius_mm": None}
    tables = tables_of(place=place)
    need = need_of_position(tables, "M-1", "boom 1")
    assert need.positions["peak_pressure_bar"].tolist() == [330.0]
    assert need.notes == (
        "The pressure here is not on record. What D-1 is rated for, 330 bar, is asked of whatever stands in.",
        "The fluid's temperature is not on record here. What D-1 stands, 100 °C, is asked of whatever stands "
        "in.",
        "The temperature around it is not on record here. What D-1 stands, −40 °C, is asked of whatever "
        "stands in.",
        "The bend is not on record here. What D-1 stands, 130 mm, is asked of whatever stands in.",
    )
    assert told_of("H-6", place=place)[0] == "fits"
    assert told_of("H-9", other(rated_pressure_bar=329.0), place=place)[0] == "unfit"


def test_reasons_and_notes_are_told_in_the_units_of_whoever_reads_them():
    american = Settings(pressure_unit="psi", length_unit="in", temperature_unit="f")
    place = {"fluid_temperature_c": 110.0, "peak_pressure_bar": 250.0}
    tables = tables_of(other(rated_pressure_bar=225.0), crimps=[crimp("H-9")], place=place)
    need = need_of_position(tables, "M-1", "boom 1", units=american)
    assert need.notes == (
        "The temperature around it is not on record here. What D-1 stands, −40 °F, is asked of whatever "
        "stands in.",
    )
    rows = ranked(need, tables, american).candidates.set_index("hose_part")
    assert rows.loc["H-9", "reason"] == (
        "peak 3,626 psi is above the 3,263 psi rating of hose H-9 (weakest part); "
        "fluid at 230 °F is hotter than the 212 °F of hose H-9"
    )
    tables = tables_of(other(minimum_bend_radius_mm=180.0), crimps=[crimp("H-9")])
    rows = ranked(need_of_position(tables, "M-1", "boom 1"), tables, american)
    reason = rows.candidates.set_index("hose_part").loc["H-9", "reason"]
    assert reason == "bent to 5.91 in, tighter than the 7.09 in of hose H-9"


def test_a_worn_hose_is_followed_by_what_stands_at_least_as_much():
    wide = other("H-8", rated_pressure_bar=420.0, dash=8.0, bore_mm=12.7)
    tables = tables_of(other("H-7", rated_pressure_bar=420.0), wide, other(rated_pressure_bar=275.0))
    worn = build_tables(parts=[hose("worn", **HOSE)])["parts"]
    found = ranked(need_of_hose(tables, worn), tables)
    verdicts = found.candidates.set_index("hose_part")["verdict"].to_dict()
    assert verdicts == {"H-6": "fits", "H-7": "fits", "H-8": "not_judged", "H-9": "unfit"}
    bare = hose("worn", rated_pressure_bar=None)  # 100R2: its table is from memory
    need = need_of_hose(tables, build_tables(parts=[bare])["parts"])
    assert need.notes[:2] == (
        "The pressure here is not on record, nor the rating of what belongs here.",
        "The fluid's temperature is not on record here, nor what worn stands: it is not judged.",
    )
    found = ranked(need, tables)
    assert set(found.candidates["verdict"]) == {"not_judged"}


def test_a_worn_hose_whose_ends_were_found_is_followed_by_what_joins_them_too():
    """Of two hoses that bear as much, one is crimped to the ends that were on the worn one."""
    metric = hose_end("E-M18", end_style="24° cone", thread="M18×1.5")
    more = (other("H-7", rated_pressure_bar=420.0), other("H-8", rated_pressure_bar=420.0), metric)
    tables = tables_of(*more, crimps=[crimp("H-7"), crimp("H-8", "E-M18")])
    worn = build_tables(parts=[hose("worn", **HOSE)])["parts"]
    need = need_of_hose(tables, worn, ends=("E-6", "E-6"))
    assert need.notes[-1].startswith(
        "Where worn served is not known. The hose is judged, and the ends by what"
    )
    found = ranked(need, tables)
    rows = found.candidates.set_index("hose_part")
    assert rows["verdict"].to_dict() == {"H-6": "fits", "H-7": "fits", "H-8": "not_judged"}
    assert rows.loc["H-7", ["end_a_part", "end_b_part"]].tolist() == ["E-6", "E-6"]
    assert (
        "no crimp is on record for it with a pair of ends that joins here (E-6)" in rows.loc["H-8", "reason"]
    )
    refused = found.ends.set_index(["place", "part"]).loc[("a", "E-M18"), "reason"]
    assert refused.startswith("24° cone, not 37° flare female swivel as E-6")


def test_a_position_of_unknown_design_can_be_stood_in_by_nothing_that_is_known_to_join():
    tables = tables_of(other(), place={"design": None})
    need = need_of_position(tables, "M-1", "boom 1")
    found = ranked(need, tables)
    assert found.candidates["end_a_part"].isna().all()
    assert not len(found.ends)


def test_a_crimp_of_a_hose_that_the_catalogue_has_not_makes_no_candidate():
    ends_alone = tables_of(parts=[hose_end(**END)], crimp_specs=[crimp("H-8")])
    assert ranked(need_of_position(ends_alone, "M-1", "boom 1"), ends_alone).candidates.empty
