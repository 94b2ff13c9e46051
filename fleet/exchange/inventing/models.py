"""Invented machine models: what each is used for in a day, and the hose positions it carries.

All of it is made up, in plain words: no maker's machine stands behind a line. Each line of a model is one
position: what it is, its circuit and line, hose and dash, the two ends (codes of `catalogue.END_STYLES`),
overall length in mm, working and peak pressure in bar, fluid temperature in °C, exposure, flow in L/min,
minutes to change it, and a mark where the position is critical.
"""

from dataclasses import dataclass
from io import StringIO

import pandas as pd

COLUMNS = (
    "position",
    "circuit",
    "line",
    "hose",
    "dash",
    "end_a",
    "end_b",
    "overall_length_mm",
    "working_pressure_bar",
    "peak_pressure_bar",
    "fluid_temperature_c",
    "exposure",
    "flow_lpm",
    "changeout_minutes",
    "critical",
)


@dataclass(frozen=True, slots=True)
class Model:
    """A machine model: `prefix` opens its machines' names; hours, and what an hour's standstill costs."""

    name: str
    prefix: str
    hours_per_day: float
    downtime_cost_per_hour: float
    places: str


EXCAVATOR = Model(
    "Crawler excavator 22 t",
    "EX",
    6.5,
    160,
    """
    boom base left;boom;pressure;100R15;16;c62s;c629;1350;330;370;75;abrasive;180;60;
    boom base right;boom;pressure;100R15;16;c62s;c629;1350;330;370;75;abrasive;180;60;
    boom rod left;boom;pressure;100R15;12;c62s;c629;1180;330;360;75;normal;120;50;
    boom rod right;boom;pressure;100R15;12;c62s;c629;1180;330;360;75;normal;120;50;
    arm base;arm;pressure;100R15;16;c62s;c629;1620;330;375;75;abrasive+flexing;190;55;
    arm rod;arm;pressure;EN 856 4SH;12;c62s;c62s;1500;330;365;75;flexing;140;55;
    bucket base;bucket;pressure;EN 856 4SH;12;c62s;c629;1240;320;370;75;abrasive+flexing;160;40;
    bucket rod;bucket;pressure;EN 856 4SH;12;c62s;c62s;1240;320;360;75;abrasive+flexing;110;40;
    swing motor a;swing;pressure;EN 856 4SP;12;c62s;c62s;900;270;305;70;sheltered;110;60;
    swing motor b;swing;pressure;EN 856 4SP;12;c62s;c62s;900;270;305;70;sheltered;110;60;
    travel left forward;travel;pressure;EN 856 4SH;16;c62s;c62s;2100;330;350;70;abrasive;200;90;
    travel right forward;travel;pressure;EN 856 4SH;16;c62s;c62s;2100;330;350;70;abrasive;200;90;
    pump delivery 1;main pump;pressure;100R15;20;c62s;c629;880;340;380;80;hot;210;75;
    pump delivery 2;main pump;pressure;100R15;20;c62s;c629;880;340;380;80;hot;210;75;
    hammer line;auxiliary;pressure;EN 856 4SP;16;orfs;orfs;2600;200;250;75;abrasive+flexing;140;45;
    pilot boom;pilot;pressure;EN 857 2SC;4;jics;jic9;1900;35;45;60;normal;8;35;
    pilot arm;pilot;pressure;EN 857 2SC;4;jics;jic9;1900;35;45;60;normal;8;35;
    case drain;drain;return;100R1;8;jics;jic9;1150;3;8;80;normal;20;40;
    cooler return;return;return;100R1;16;orfs;orf9;950;8;18;88;hot;160;50;
    pump suction;main pump;suction;100R4;32;c61s;c61s;700;1;1;75;sheltered;300;120;
    """,
)

WHEEL_LOADER = Model(
    "Wheel loader 18 t",
    "WL",
    7.5,
    140,
    """
    lift base left;lift;pressure;EN 856 4SP;16;c62s;orf9;1250;215;260;78;abrasive;180;45;
    lift base right;lift;pressure;EN 856 4SP;16;c62s;orf9;1250;215;260;78;abrasive;180;45;
    lift rod left;lift;pressure;EN 856 4SP;12;orfs;orf9;1320;215;250;78;normal;120;45;
    lift rod right;lift;pressure;EN 856 4SP;12;orfs;orf9;1320;215;250;78;normal;120;45;
    tilt base;tilt;pressure;EN 856 4SP;16;c62s;orfs;1480;215;265;78;abrasive+flexing;170;50;
    tilt rod;tilt;pressure;EN 856 4SP;12;orfs;orfs;1480;215;250;78;flexing;110;50;
    third function a;auxiliary;pressure;100R2;8;orfs;orf9;1900;205;240;75;abrasive+flexing;60;40;
    third function b;auxiliary;pressure;100R2;8;orfs;orf9;1900;205;240;75;abrasive+flexing;60;40;
    steering left;steering;pressure;100R2;8;orfs;orf9;760;190;230;75;flexing;45;60;critical
    steering right;steering;pressure;100R2;8;orfs;orf9;760;190;230;75;flexing;45;60;critical
    steering supply;steering;pressure;100R2;10;orfs;orfs;1150;190;225;78;normal;70;50;critical
    brake charge;brakes;pressure;100R2;6;jics;jic9;980;160;190;70;normal;15;55;critical
    pump delivery;main pump;pressure;EN 856 4SP;20;c62s;c629;720;180;205;85;hot;230;70;
    fan motor;cooling;pressure;100R2;10;jics;jic9;1400;170;195;85;hot;60;40;
    pilot lift;pilot;pressure;EN 857 2SC;4;jics;jic9;1600;35;42;60;normal;8;30;
    pilot tilt;pilot;pressure;EN 857 2SC;4;jics;jic9;1600;35;42;60;normal;8;30;
    fan case drain;drain;return;100R6;8;jics;jics;900;3;6;80;normal;12;30;
    cooler return;return;return;100R1;16;orfs;orf9;1100;8;20;90;hot;180;45;
    pump suction;main pump;suction;100R4;24;c61s;c61s;600;1;1;75;sheltered;170;90;
    """,
)

HAUL_TRUCK = Model(
    "Articulated hauler 30 t",
    "HT",
    8.5,
    150,
    """
    tip base left;tip;pressure;100R12;16;c61s;orf9;1450;210;245;75;abrasive;200;60;
    tip base right;tip;pressure;100R12;16;c61s;orf9;1450;210;245;75;abrasive;200;60;
    tip rod left;tip;pressure;100R12;12;orfs;orf9;1380;190;230;75;normal;140;60;
    tip rod right;tip;pressure;100R12;12;orfs;orf9;1380;190;230;75;normal;140;60;
    steering base left;steering;pressure;100R2;10;orfs;orf9;880;195;235;75;flexing;70;70;critical
    steering base right;steering;pressure;100R2;10;orfs;orf9;880;195;235;75;flexing;70;70;critical
    steering rod left;steering;pressure;100R2;8;orfs;orf9;860;195;230;75;flexing;55;70;critical
    steering rod right;steering;pressure;100R2;8;orfs;orf9;860;195;230;75;flexing;55;70;critical
    steering supply;steering;pressure;100R2;12;orfs;orfs;1250;170;200;78;normal;90;60;critical
    brake front;brakes;pressure;100R2;6;jics;jic9;1350;170;195;80;abrasive;15;55;critical
    brake rear;brakes;pressure;100R2;6;jics;jic9;2250;170;195;80;abrasive;15;55;critical
    retarder supply;retarder;pressure;100R1;12;orfs;orf9;760;45;70;98;hot;90;80;
    retarder return;retarder;return;100R1;12;orfs;orf9;760;15;25;98;hot;90;80;
    fan motor;cooling;pressure;100R2;10;jics;jic9;1200;180;205;85;hot;65;45;
    suspension left;suspension;pressure;EN 857 2SC;8;orfs;orfs;640;180;250;65;flexing;25;60;
    suspension right;suspension;pressure;EN 857 2SC;8;orfs;orfs;640;180;250;65;flexing;25;60;
    hoist pilot;pilot;pressure;100R17;4;jics;jic9;2800;35;45;60;normal;8;45;
    cooler return;return;return;100R1;16;orfs;orf9;1050;8;18;88;hot;170;45;
    pump suction;main pump;suction;100R4;24;c61s;c61s;750;1;1;75;sheltered;180;90;
    """,
)

DRILL_RIG = Model(
    "Rock drill rig",
    "DR",
    9.0,
    210,
    """
    percussion supply;percussion;pressure;100R13;16;c62s;c629;3400;230;300;75;abrasive+flexing;150;70;
    percussion return;percussion;return;100R2;16;orfs;orf9;3400;20;45;78;abrasive+flexing;150;70;
    rotation a;rotation;pressure;EN 856 4SP;12;orfs;orf9;3300;190;235;75;abrasive+flexing;75;60;
    rotation b;rotation;pressure;EN 856 4SP;12;orfs;orf9;3300;190;235;75;abrasive+flexing;75;60;
    feed forward;feed;pressure;EN 856 4SP;10;orfs;orf9;2900;200;240;75;abrasive+flexing;60;55;
    feed back;feed;pressure;EN 856 4SP;10;orfs;orf9;2900;200;240;75;abrasive+flexing;60;55;
    boom lift base;boom;pressure;100R2;8;orfs;orf9;1450;205;240;72;abrasive;40;45;
    boom lift rod;boom;pressure;100R2;8;orfs;orf9;1450;205;240;72;normal;40;45;
    boom swing a;boom;pressure;100R2;6;orfs;orf9;1300;205;245;72;flexing;30;45;
    boom swing b;boom;pressure;100R2;6;orfs;orf9;1300;205;245;72;flexing;30;45;
    rod clamp a;rod handling;pressure;EN 857 2SC;6;jics;jic9;3600;180;215;70;abrasive;20;40;
    rod clamp b;rod handling;pressure;EN 857 2SC;6;jics;jic9;3600;180;215;70;abrasive;20;40;
    dust collector motor;cooling;pressure;100R2;10;jics;jic9;1700;190;220;80;normal;60;40;
    travel left;travel;pressure;EN 856 4SH;12;c62s;c62s;1750;300;345;72;abrasive;110;80;
    travel right;travel;pressure;EN 856 4SH;12;c62s;c62s;1750;300;345;72;abrasive;110;80;
    pump delivery;main pump;pressure;100R13;20;c62s;c629;850;250;300;85;hot;230;80;
    case drain;drain;return;100R6;10;jics;jics;1200;3;6;80;normal;22;35;
    cooler return;return;return;100R1;20;orfs;orf9;1100;8;18;88;hot;220;50;
    pump suction;main pump;suction;100R4;32;c61s;c61s;640;1;1;75;sheltered;240;110;
    """,
)

HARVESTER = Model(
    "Forestry harvester",
    "FH",
    8.5,
    190,
    """
    head feed forward;head;pressure;EN 856 4SP;12;orfs;orf9;1150;255;300;75;abrasive+flexing;140;40;
    head feed back;head;pressure;EN 856 4SP;12;orfs;orf9;1150;255;300;75;abrasive+flexing;140;40;
    head saw motor;head;pressure;EN 857 2SC;8;orfs;orf9;980;215;255;75;abrasive+flexing;70;35;
    head tilt base;head;pressure;EN 857 2SC;6;orfs;orf9;850;215;250;72;abrasive+flexing;25;35;
    head tilt rod;head;pressure;EN 857 2SC;6;orfs;orf9;850;215;250;72;abrasive+flexing;25;35;
    delimbing knives;head;pressure;EN 857 2SC;6;orfs;orf9;760;200;245;72;abrasive+flexing;25;35;
    head return;head;return;100R2;16;orfs;orf9;1250;15;40;75;abrasive+flexing;180;40;
    rotator a;crane;pressure;EN 857 2SC;6;jics;jic9;920;180;215;70;abrasive+flexing;20;30;
    rotator b;crane;pressure;EN 857 2SC;6;jics;jic9;920;180;215;70;abrasive+flexing;20;30;
    crane main lift;crane;pressure;100R2;10;orfs;orf9;1300;205;235;72;normal;90;45;
    crane knuckle;crane;pressure;100R2;10;orfs;orf9;1450;205;235;72;abrasive;80;45;
    crane extension;crane;pressure;100R2;8;orfs;orf9;3100;190;230;72;abrasive+flexing;60;70;
    crane slew a;crane;pressure;100R2;8;orfs;orf9;880;190;225;70;sheltered;50;50;
    crane slew b;crane;pressure;100R2;8;orfs;orf9;880;190;225;70;sheltered;50;50;
    articulated steering left;steering;pressure;100R2;8;orfs;orf9;740;185;225;72;flexing;40;60;critical
    articulated steering right;steering;pressure;100R2;8;orfs;orf9;740;185;225;72;flexing;40;60;critical
    drive pump a;drive;pressure;100R15;16;c62s;c629;950;360;395;82;hot;190;90;
    pump delivery;main pump;pressure;EN 856 4SP;16;c62s;c629;820;230;262;85;hot;220;70;
    cooler return;return;return;100R1;16;orfs;orf9;1000;8;18;88;hot;170;45;
    pump suction;main pump;suction;100R4;32;c61s;c61s;580;1;1;75;sheltered;250;110;
    """,
)

FORWARDER = Model(
    "Forwarder 14 t",
    "FW",
    8.0,
    150,
    """
    grapple open;crane;pressure;EN 857 2SC;8;orfs;orf9;780;195;235;72;abrasive+flexing;55;30;
    grapple close;crane;pressure;EN 857 2SC;8;orfs;orf9;780;195;235;72;abrasive+flexing;55;30;
    rotator a;crane;pressure;EN 857 2SC;6;jics;jic9;900;175;210;70;abrasive+flexing;20;30;
    rotator b;crane;pressure;EN 857 2SC;6;jics;jic9;900;175;210;70;abrasive+flexing;20;30;
    crane main lift;crane;pressure;100R2;10;orfs;orf9;1350;205;238;72;normal;90;45;
    crane knuckle;crane;pressure;100R2;10;orfs;orf9;1500;205;238;72;abrasive;80;45;
    crane extension out;crane;pressure;100R2;6;orfs;orf9;3300;190;235;72;abrasive+flexing;45;70;
    crane extension in;crane;pressure;100R2;6;orfs;orf9;3300;190;235;72;abrasive+flexing;45;70;
    crane slew a;crane;pressure;100R2;8;orfs;orf9;900;185;220;70;sheltered;50;50;
    crane slew b;crane;pressure;100R2;8;orfs;orf9;900;185;220;70;sheltered;50;50;
    bunk gate;load space;pressure;100R17;6;jics;jics;2400;160;185;65;abrasive;20;35;
    bogie lift;drive;pressure;100R17;6;jics;jic9;1250;165;190;68;abrasive;20;50;
    articulated steering left;steering;pressure;100R2;8;orfs;orf9;760;185;225;72;flexing;40;60;critical
    articulated steering right;steering;pressure;100R2;8;orfs;orf9;760;185;225;72;flexing;40;60;critical
    brake supply;brakes;pressure;100R2;6;jics;jic9;1600;150;180;70;normal;12;55;critical
    drive pump a;drive;pressure;EN 856 4SH;16;c62s;c629;900;340;370;82;hot;170;90;
    pump delivery;main pump;pressure;EN 856 4SP;12;c62s;c629;780;225;262;82;hot;150;65;
    cooler return;return;return;100R1;12;orfs;orf9;980;8;16;86;hot;110;40;
    pump suction;main pump;suction;100R4;24;c61s;c61s;560;1;1;72;sheltered;160;90;
    """,
)

PRESS = Model(
    "Hydraulic press 400 t",
    "PR",
    14.0,
    320,
    """
    main cylinder 1;main cylinder;pressure;100R13;20;c62s;c629;1400;280;315;58;sheltered;220;90;
    main cylinder 2;main cylinder;pressure;100R13;20;c62s;c629;1400;280;315;58;sheltered;220;90;
    main cylinder back;main cylinder;pressure;EN 856 4SP;16;c62s;c62s;1250;200;240;58;sheltered;180;80;
    ejector up;ejector;pressure;EN 856 4SP;12;orfs;orf9;1600;210;260;58;flexing;90;60;
    ejector down;ejector;pressure;EN 856 4SP;12;orfs;orf9;1600;210;260;58;flexing;90;60;
    die cushion left;die cushion;pressure;EN 856 4SP;16;c62s;c629;1350;190;250;62;flexing;160;75;
    die cushion right;die cushion;pressure;EN 856 4SP;16;c62s;c629;1350;190;250;62;flexing;160;75;
    die clamp front;clamps;pressure;100R2;4;jics;jic9;1850;240;280;50;normal;5;30;critical
    die clamp back;clamps;pressure;100R2;4;jics;jic9;2150;240;280;50;normal;5;30;critical
    slide lock left;slide;pressure;100R2;6;orfs;orf9;1300;170;200;52;normal;10;45;critical
    slide lock right;slide;pressure;100R2;6;orfs;orf9;1300;170;200;52;normal;10;45;critical
    accumulator line;accumulator;pressure;100R15;12;c62s;c62s;620;300;350;55;sheltered;200;70;
    prefill pilot;pilot;pressure;100R17;6;orfs;orf9;1750;150;180;52;normal;15;35;
    proportional valve pilot;pilot;pressure;100R7;4;jics;jics;1400;120;150;50;normal;6;30;
    pump delivery 1;main pump;pressure;100R13;16;c62s;c629;760;280;315;62;normal;200;70;
    pump delivery 2;main pump;pressure;100R13;16;c62s;c629;760;280;315;62;normal;200;70;
    cooler supply;cooling;return;100R6;12;jics;jics;1500;5;9;60;sheltered;70;30;
    tank return;return;return;100R1;20;orfs;orf9;1100;8;20;60;sheltered;260;50;
    pump suction;main pump;suction;100R4;32;c61s;c61s;540;1;1;50;sheltered;300;90;
    """,
)

TELEHANDLER = Model(
    "Telehandler 4 t",
    "TH",
    5.0,
    90,
    """
    boom lift base;boom;pressure;100R2;10;orfs;orf9;1180;210;245;72;normal;80;45;
    boom lift rod;boom;pressure;100R2;10;orfs;orf9;1180;210;240;72;normal;80;45;
    boom extend out;boom;pressure;100R2;8;orfs;orfs;4200;200;240;70;flexing;60;90;
    boom extend in;boom;pressure;100R2;8;orfs;orfs;4200;200;240;70;flexing;60;90;
    fork tilt base;carriage;pressure;100R17;8;orfs;orf9;1450;165;195;70;abrasive+flexing;50;40;
    fork tilt rod;carriage;pressure;100R17;8;orfs;orf9;1450;165;195;70;abrasive+flexing;50;40;
    attachment a;auxiliary;pressure;100R17;8;jics;jic9;1700;175;205;70;abrasive+flexing;60;35;
    attachment b;auxiliary;pressure;100R17;8;jics;jic9;1700;175;205;70;abrasive+flexing;60;35;
    stabilizer left;stabilizers;pressure;100R2;6;jics;jic9;1900;200;230;65;abrasive;30;40;critical
    stabilizer right;stabilizers;pressure;100R2;6;jics;jic9;1900;200;230;65;abrasive;30;40;critical
    steering front;steering;pressure;100R17;6;orfs;orf9;950;160;185;68;flexing;25;50;critical
    steering rear;steering;pressure;100R17;6;orfs;orf9;2100;160;185;68;flexing;25;60;critical
    brake line;brakes;pressure;100R2;4;jics;jics;1400;110;130;65;normal;4;50;critical
    drive pump a;drive;pressure;EN 856 4SP;12;c62s;c629;850;290;330;80;hot;120;75;
    drive pump b;drive;pressure;EN 856 4SP;12;c62s;c629;850;290;330;80;hot;120;75;
    fan motor;cooling;pressure;100R17;8;jics;jic9;1100;160;180;82;hot;45;35;
    case drain;drain;return;100R6;8;jics;jics;950;3;6;78;normal;15;30;
    cooler return;return;return;100R1;12;orfs;orf9;900;7;14;85;hot;110;40;
    """,
)

SITE_KINDS: tuple[tuple[str, tuple[Model, ...]], ...] = (
    ("Quarry", (EXCAVATOR, WHEEL_LOADER, HAUL_TRUCK, DRILL_RIG)),
    ("Forest", (HARVESTER, FORWARDER, EXCAVATOR)),
    ("Press works", (PRESS, TELEHANDLER, WHEEL_LOADER)),
)
"""What a site is called and which machines work there."""

MODELS: tuple[Model, ...] = (
    EXCAVATOR,
    WHEEL_LOADER,
    HAUL_TRUCK,
    DRILL_RIG,
    HARVESTER,
    FORWARDER,
    PRESS,
    TELEHANDLER,
)


def make_places() -> pd.DataFrame:
    """Every model's positions, one row each, with `model` as its number in MODELS.

    Rows of one model stand together and in the order of MODELS.
    """
    frames = []
    for number, model in enumerate(MODELS):
        lines = "\n".join(line.strip() for line in model.places.strip().splitlines())
        places = pd.read_csv(StringIO(lines), sep=";", names=list(COLUMNS), keep_default_na=False)
        frames.append(places.assign(model=number, critical=places["critical"] == "critical"))
    return pd.concat(frames, ignore_index=True)
