"""What must stand wherever the service sends a person to a hose: on pages, in kits and in the API.

Common practice, no source, except: skin is pierced from about 7 bar and harm is lasting within about six
hours, as insurers and trade pages agree. No text here takes the place of the machine maker's instructions.
"""

from dataclasses import dataclass

from forecasting.wording import gettext, gettext_noop


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: `code` for programs, `title` for the eye, `text` to read before the work."""

    code: str
    english_title: str
    english_text: str

    @property
    def title(self) -> str:
        return gettext(self.english_title)

    @property
    def text(self) -> str:
        return gettext(self.english_text)


PRESSURE = Caution(
    "pressure",
    gettext_noop("Prove zero pressure"),
    gettext_noop("Never feel for leaks. Stop, lower loads, discharge accumulators, prove zero pressure."),
)
INJECTION = Caution(
    "injection",
    gettext_noop("Fluid under the skin is a surgical emergency"),
    gettext_noop(
        'Suspected injection, even painless, is a surgical emergency: hospital now, say "high-pressure '
        'injection", name the fluid.'
    ),
)
RELEASE = Caution(
    "release",
    gettext_noop("Whip, fire, falling loads, slips"),
    gettext_noop(
        "A hose that lets go whips, its spray burns, what it held up falls, and oil on the floor is a slip."
    ),
)
COMPETENCE = Caution(
    "competence",
    gettext_noop("A competent person decides"),
    gettext_noop(
        "The machine maker's instructions, local law and a competent person come before this plan. Steering, "
        "brakes, load-holding, lifting of people, mining, marine and gas lines need a named person's "
        "sign-off."
    ),
)
NEVER_REUSE = Caution(
    "never_reuse",
    gettext_noop("Never reuse hose"),
    gettext_noop(
        "Never reuse a hose or put new ends on a used one. Crimp only to the chart for that exact hose, end "
        "and ferrule, and prove the assembly before it goes out."
    ),
)
PROOF = Caution(
    "proof",
    gettext_noop("Prove behind a guard"),
    gettext_noop(
        "Prove with liquid, the air bled, behind a guard. Never feel for leaks: what lets go whips, and a "
        "jet goes through gloves and skin."
    ),
)
ISOLATE = Caution(
    "isolate",
    gettext_noop("Isolate"),
    gettext_noop("Stop the machine, lock and tag every source of power, and keep the key."),
)
LOADS = Caution(
    "loads",
    gettext_noop("Lower or prop loads"),
    gettext_noop(
        "Lower every load to the ground, or prop it with what is made for that. A cylinder is no prop."
    ),
)
ACCUMULATORS = Caution(
    "accumulators",
    gettext_noop("Discharge accumulators"),
    gettext_noop("Discharge every accumulator as its maker says, and shut nothing in between two valves."),
)
ZERO = Caution(
    "zero",
    gettext_noop("Prove zero pressure"),
    gettext_noop(
        "Move every control with the power off, then prove zero pressure on the line itself. A gauge that "
        "shows nothing may be broken: open slowly, standing aside, and stop if anything comes."
    ),
)
NO_HANDS = Caution(
    "no_hands",
    gettext_noop("Never feel for leaks"),
    gettext_noop(
        "Fluid too fine to see goes through gloves and skin. Keep hands and face away from every line."
    ),
)
WHIP = Caution(
    "whip",
    gettext_noop("Hold it against whip"),
    gettext_noop(
        "A hose that lets go whips: hold it down, stand clear of its sweep, and wear eye protection."
    ),
)
LOCAL_RULES = Caution(
    "local_rules",
    gettext_noop("Local codes and licensed practice come first"),
    gettext_noop(
        "Where local codes, the site or the machine's maker ask for a licensed person, a permit or another "
        "order of work, that holds and not this sheet."
    ),
)
CARD = Caution(
    "card",
    gettext_noop("Look for leaks with a card, not a hand"),
    gettext_noop(
        "Bleed the air, start at low pressure, keep clear, and hold a piece of card along each joint. Stop "
        "and prove zero pressure again before anything is tightened."
    ),
)
LABEL = Caution(
    "label",
    gettext_noop("Tag what was put on"),
    gettext_noop("Each new assembly carries its tag; what came off is cut up."),
)
RECORD = Caution(
    "record",
    gettext_noop("Record it today"),
    gettext_noop("Note for each position what came off, why, at how many hours, and the tag that went on."),
)

BEFORE_OPENING: tuple[Caution, ...] = (
    ISOLATE,
    LOADS,
    ACCUMULATORS,
    ZERO,
    NO_HANDS,
    INJECTION,
    WHIP,
    LOCAL_RULES,
    COMPETENCE,
)
AFTER_THE_WORK: tuple[Caution, ...] = (CARD, LABEL, RECORD)
AT_THE_MACHINE: tuple[Caution, ...] = (PRESSURE, INJECTION, RELEASE, COMPETENCE)
AT_A_BURST: tuple[Caution, ...] = (INJECTION, PRESSURE, RELEASE, COMPETENCE, NEVER_REUSE)
AT_THE_BENCH: tuple[Caution, ...] = (NEVER_REUSE, PROOF, INJECTION, COMPETENCE)
