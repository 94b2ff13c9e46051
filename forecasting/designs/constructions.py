"""Hose constructions: one spelling for each standard's designation, and what a designation tells.

Designations from memory: SAE J517 (100R numbers), EN 853 (SN, ST), EN 854 (TE, R3, R6), EN 855 (R7, R8),
EN 856 (SP, SH, R12, R13), EN 857 (SC), ISO 18752 (classes by pressure in bar, types by letters).
"""

import re

import numpy as np
import pandas as pd

from ..units import DASH_MM, MM_PER_INCH

_SIZE = r"(?: ?- ?\d{1,2}| DN ?\d{1,3})?"  # written behind the type
_SAE = re.compile(
    r"(?:SAE ?)?(?:J ?517 ?-? ?)?(?:SAE ?)?(?:TYPE )?(?:100 ?-? ?)?R ?(1\d|[1-9])"
    r"(?: ?-?(?:ATS?|A|B|S))?(?: TYPE (?:AT|A|B|S))?" + _SIZE
)
_EN = re.compile(
    r"(?:(?:DIN |BS )?EN ?(85[3-7])(?: ?- ?| )?)?(?:TYPE )?([12]S[NTC]|4S[PH]|[123]TE|R ?\d{1,2})" + _SIZE
)
_ISO = re.compile(r"ISO ?18752 ?-? ?(?:CLASS )?(?:([A-D][SC]) ?-? ?)?(\d{2,3})(?: ?-? ?([A-D][SC]))?" + _SIZE)
_EDITION = re.compile(r" ?:(?:19|20)\d\d(?:-\d\d)?")
_TYPES_OF_EN = {
    "853": ("1SN", "2SN", "1ST", "2ST"),
    "854": ("1TE", "2TE", "3TE", "R3", "R6"),
    "855": ("R7", "R8"),
    "856": ("4SP", "4SH", "R12", "R13"),
    "857": ("1SC", "2SC"),
}
_EN_OF_TYPE = {kind: number for number, kinds in _TYPES_OF_EN.items() for kind in kinds}

# A wire helix is made for suction; a braid or spiral of wire stands some vacuum that its maker must state;
# textile alone lets the tube fall in. Common practice, no source.
_FOR_SUCTION = r"100R4|.*\bSUCTION\b.*"
_TEXTILE = r"100R(?:3|6|7|8|18)|EN 85[45] R\d|EN 854 \dTE"

# SAE 100R5 counts the outside of the tube it replaces. Bores: common practice, no source; dash 5 from memory.
_R5_BORE_MM = {
    dash: sixteenths * MM_PER_INCH / 16
    for dash, sixteenths in {
        4: 3, 5: 4, 6: 5, 8: 6.5, 10: 8, 12: 10, 16: 14, 20: 18, 24: 22, 32: 29,
    }.items()
}  # fmt: skip


def normal_construction(text: pd.Series) -> pd.Series:
    """Each designation in one spelling, such as 100R2, EN 853 2SN, ISO 18752 280 CC; index kept.

    "SAE 100R2AT", "100 R2" and "SAE J517 type R2" are all 100R2: the letters behind it tell the cover, not
    what the hose carries. An edition or a size in the text is dropped. Of two designations on one hose
    ("100R2AT / EN 853 2SN") the first stands. What is not known stays as it is, stripped; missing stays
    missing.
    """
    return text.map({one: _normal(one) for one in text.dropna().unique()}).astype("str")


def _normal(text: str) -> str:
    text = " ".join(text.split())
    plain = _EDITION.sub("", text.upper())
    for spelling in (re.sub(r" ?/ ?", " ", plain), re.split(r" ?[/,;+] ?", plain)[0]):
        if sae := _SAE.fullmatch(spelling):
            return f"100R{sae[1]}"
        if iso := _ISO.fullmatch(spelling):
            return " ".join(["ISO 18752", iso[2], *filter(None, (iso[1] or iso[3],))])
        if en := _EN.fullmatch(spelling):
            number = _EN_OF_TYPE.get(en[2].replace(" ", ""))
            if number and en[1] in (None, number):
                return f"EN {number} {en[2].replace(' ', '')}"
    return text


def tabulated_construction(text: pd.Series) -> pd.Series:
    """Each designation as tables of ratings hold it: normal, an ISO 18752 class without its type's letters.

    Source: ISO 18752: one maximum working pressure for all sizes and types of a class.
    """
    return normal_construction(text).str.replace(r"^(ISO 18752 \d+) [A-D][SC]$", r"\1", regex=True)


def stands_suction(construction: pd.Series) -> pd.Series:
    """What a construction is on a suction line: `meant` for it, `falls_in` or `not_stated`."""
    normal = normal_construction(construction).str.upper().fillna("")
    kinds = np.select(
        [normal.str.fullmatch(_FOR_SUCTION), normal.str.fullmatch(_TEXTILE)],
        ["meant", "falls_in"],
        "not_stated",
    )
    return pd.Series(kinds, index=construction.index, dtype="str")


def bore_mm(parts: pd.DataFrame) -> pd.Series:
    """The bore of each part: its own, else that of its dash; missing where neither tells.

    100R5 and 100R14 count the tube they replace: the first is tabulated here, of the second none is known.
    """
    normal = normal_construction(parts["construction"])
    nominal = parts["dash"] * DASH_MM
    nominal = nominal.mask(normal == "100R5", parts["dash"].map(_R5_BORE_MM)).mask(normal == "100R14")
    return parts["bore_mm"].fillna(nominal)
