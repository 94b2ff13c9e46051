"""What is printed on a tag, as far as the register tells it: how long each assembly is, and its rating."""

from collections.abc import Mapping, Sequence

import pandas as pd
from django.db.models import F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from fleet.models import Assembly, Design, KitPart, KitPartState, Organization, Part, PartKind
from fleet.trade.ratings import load_ratings
from forecasting.designs.ratings import rate_designs
from forecasting.inputs import DESIGN_PARTS, DESIGNS
from forecasting.tables import make_table

from .register import catalogue_tables

# The column of a design that a part of a kit fills, by its kind and place.
ROLES: dict[tuple[str, str], str] = {
    (PartKind.BULK_HOSE, "hose"): "hose_part",
    (PartKind.HOSE_END, "a"): "end_a_part",
    (PartKind.HOSE_END, "b"): "end_b_part",
}


def design_of(assembly: Assembly) -> Design | None:
    """The design that the assembly was built to, else that of its position."""
    return assembly.design or (assembly.position.design if assembly.position else None)


def with_lengths_made(assemblies: QuerySet[Assembly]) -> QuerySet[Assembly]:
    """The assemblies, each with `length_made_mm`: how long over all it was made, by the cut that was recorded
    and the cut-offs of the ends that are in it; None where any of these is not on record."""

    def end_in_it(place: str) -> Coalesce:
        taken = KitPart.objects.filter(
            kit_assembly__assembly=OuterRef("pk"),
            place=place,
            part__kind=PartKind.HOSE_END,
            state=KitPartState.USED,
            scrapped_because="",
        )
        return Coalesce(Subquery(taken.values("part")[:1]), F(f"build__design__end_{place}_part"))

    def cutoff(end: str) -> Subquery:
        return Subquery(Part.objects.filter(pk=OuterRef(end)).values("cutoff_mm"))

    rows = assemblies.alias(end_a_in_it=end_in_it("a"), end_b_in_it=end_in_it("b"))
    return rows.annotate(
        length_made_mm=F("build__cut_length_mm") + cutoff("end_a_in_it") + cutoff("end_b_in_it")
    )


def assembly_ratings(organization: Organization, assemblies: Sequence[Assembly]) -> dict[int, float]:
    """What each assembly may carry, in bar, by its id: that of the weakest part that is in it.

    One is missing where a part has no rating of its own: a tag shows no value from memory, and none that only
    some of the parts bear.
    """
    drawn = {one: design for one in assemblies if (design := design_of(one))}
    known = {str(one.pk): (design.key, one) for one, design in drawn.items()}
    tables = catalogue_tables(organization, None, drawn.values())  # no rating hangs on a shelf life
    rated = rate_designs(as_made(tables, known) | {"ratings": load_ratings()})
    rated = rated[rated["unrated"].isna() & rated["rated_pressure_bar"].notna()]
    return {int(row.design): float(row.rated_pressure_bar) for row in rated.itertuples()}


def as_made(
    tables: dict[str, pd.DataFrame], known: Mapping[str, tuple[str, Assembly | None]]
) -> dict[str, pd.DataFrame]:
    """The tables with a design of its own for each of `known`: by name its design's key and, where it exists,
    the assembly. A name is missing among the designs where there is no design of that key.

    An assembly of a kit has the parts that it was built from, all others their design's.
    """
    drawn = tables["designs"].set_index("design")
    of = {name: design for name, (design, _) in known.items() if design in drawn.index}
    designs = drawn.loc[list(of.values())].set_axis(pd.Index(list(of), name="design"))
    names = {one.pk: name for name, (_, one) in known.items() if one is not None and name in of}
    used = KitPart.objects.filter(
        kit_assembly__assembly__in=list(names), state=KitPartState.USED, scrapped_because=""
    )
    built, of_kits = [], set()
    for pk, place, part, kind, quantity in used.values_list(
        "kit_assembly__assembly", "place", "part__key", "part__kind", "quantity"
    ):
        of_kits.add(names[pk])
        if column := ROLES.get((kind, place)):
            designs.loc[names[pk], column] = part
        else:
            built.append({"design": names[pk], "place": place, "part": part, "quantity": quantity})
    by_bench = (
        pd.DataFrame(built, columns=DESIGN_PARTS.names)
        .groupby(list(DESIGN_PARTS.key), as_index=False)["quantity"]
        .sum()
    )
    by_design = tables["design_parts"].rename(columns={"design": "drawn"})
    drawings = pd.DataFrame({"design": list(of), "drawn": list(of.values())}, dtype="str")
    by_design = drawings.merge(by_design, on="drawn")
    by_design = by_design[~by_design["design"].isin(of_kits)]
    return tables | {
        "designs": make_table(designs.reset_index(), DESIGNS),
        "design_parts": make_table(pd.concat([by_design, by_bench]), DESIGN_PARTS),
    }
