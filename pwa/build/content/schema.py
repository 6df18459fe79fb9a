"""The shape of everything in content/: what a person may write there, and what the app may rely on.

The build reads each file into these models, so a missing source, unit or caution stops it with file and
line. What the phone gets is `Content.model_dump()`: plain dicts and lists under the same names.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Html = str  # written as Markdown in content/, compiled by the build
Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]
Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]  # ISO date
Place = Literal["roadside", "bay", "turbo off"]
Drive = Literal["electric", "pneumatic", "hydraulic"]
# What a job may say of its actuator; only content is always of a known type.
JobDrive = Literal["electric", "pneumatic", "hydraulic", "not known"]
Step = Literal[
    "safe", "codes", "isolate", "measure", "joints", "repair", "fasteners", "cause", "prove", "summary"
]
# How a finding comes to be known; what is asked or read needs nobody at the truck's hot side.
Way = Literal["asked", "codes", "looked at", "measured", "commanded"]
Heat = Literal["any", "cold", "hot"]
# What the engine must be doing for a check, least first; each takes in what stands before it.
Running = Literal["off", "key on", "idle", "load", "road"]
# The least that must not be done while something is off: "load" forbids load and road.
Forbids = Literal["nothing", "road", "load", "start", "key on"]
# Where a cause lies: on the VGT's control side (the actuator with its power, wiring, bus, air or oil, and
# calibration), in its mechanism, or outside the VGT, by the system's name. An effect is no fault and lies
# nowhere: it is what several faults bring about alike, and what others follow from.
System = Literal[
    "control",
    "mechanism",
    "air path",
    "exhaust",
    "aftertreatment",
    "egr",
    "fuel",
    "oil",
    "cooling",
    "engine",
    "sensors",
    "derate",
    "use",
    "electrical",
    "effect",
]
CodeClass = Literal[
    "circuit",
    "mechanical",
    "network",
    "upstream",
    "device",
    "calibration",
    "sensor",
    "supply",
    "system",
    "either",
    "unknown",
]


# The answer that a truck has no such part. The build gives it to every finding on a part.
NOT_FITTED = "not-fitted"
DOES_NOT_HAVE = "Does not have that"


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Source(Strict):
    """Where a number or rule comes from; `content/sources.yaml`, cited by key."""

    text: Words
    kind: Literal[
        "standard", "law", "study", "handbook", "worked out", "common practice", "our estimate", "from memory"
    ]


class Engine(Strict):
    """An engine family in generic words, never a maker's name; `content/engines.yaml`."""

    key: str
    name: str


class Actuator(Strict):
    """A type of actuator; `content/actuators.yaml`. The shares are of all trucks with this complaint."""

    key: Drive
    name: Words
    share: float = Field(gt=0, lt=1)
    source: str


class Part(Strict):
    """What some trucks have and others have not; `content/parts.yaml`."""

    key: str
    name: Words  # "an actuator rod"


class Distance(Strict):
    """Where one jurisdiction wants warning devices, as dated data."""

    key: str
    place: Words
    rule: Words
    devices: Literal["place", "none"] = "place"  # "none" where the rule forbids placing any
    source: str
    as_of: Day


class Caution(Strict):
    """One hazard; `content/cautions/KEY.yaml`. Shown before the steps it names."""

    key: str
    title: Words
    hazard: Words  # what it does to a person
    body: Html
    order: int = 50  # the lowest is shown first
    steps: list[Step]  # before which it must be accepted
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]
    places: list[Place] = ["roadside", "bay", "turbo off"]
    distances: list[Distance] = []
    sources: list[str] = Field(min_length=1)


class Code(Strict):
    """A standard trouble code in our own words; `content/codes/*.yaml`."""

    text: str
    kind: CodeClass
    source: str
    system: str = ""  # whose part it names, if any; a pair belongs where its SPN does
    finding: str = ""  # the finding this code is evidence for, where its system does not say it already
    outcome: str = ""
    could: list[str] = []  # findings that it may be about as well: "no other codes" leaves them open


class CodeSystem(Strict):
    """What codes can be about, and which finding each kind of code answers; `content/codes/systems.yaml`."""

    name: Words
    broad: str = ""  # the finding of a code whose kind is not told; "" where codes say nothing of this job
    # class of failure, or FMI: the finding that such a code answers, then those that it may be about as well
    tells: dict[str, list[str]] = {}
    source: str


class CodeRange(Strict):
    """Which systems an unknown code may be about, by its first characters; `content/codes/ranges.yaml`."""

    text: Words
    systems: list[str]
    source: str


class Codes(Strict):
    spn: dict[str, Code]  # "641"
    fmi: dict[str, Code]  # "0" to "31"
    dtc: dict[str, Code]  # "P0299", "U010C": J2012 codes
    pairs: dict[str, Code] = {}  # "641/7": when the pair says more than its parts
    systems: dict[str, CodeSystem] = {}
    ranges: dict[str, CodeRange] = {}


class Cause(Strict):
    """One thing that can be wrong; `content/model/causes/KEY.yaml`."""

    key: str
    name: str
    system: System
    upstream: bool = False  # what broke the VGT, or passes for it: asked for before a job is closed
    text: str  # plain description
    shows: str  # how it shows
    # How often it is there in any truck of this kind, before a complaint, if none of `because_of` brings it.
    chance: float = Field(gt=0, lt=1)
    because_of: dict[str, float] = {}  # parent cause -> chance that it alone brings this one about
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]
    part: str = ""  # the part without which this cannot be, where not every truck has it
    reached: Place = "bay"  # where it can be put right
    wrong: str = ""  # what it costs to overlook it, and to blame it wrongly
    put_right: dict[str, float] = {}  # repair -> chance that it cures this; an effect has none of its own
    # Chance that the truck is back for it within the year if it is there and left as it is.
    comes_back: float = Field(default=0.0, ge=0, lt=1)
    # Of the trucks that would be back for it, the share in which the proof after the repair sees it already.
    seen: float = Field(default=0.85, ge=0, le=1)
    source: str


class Opening(Strict):
    """What comes off, is pulled, drained or disconnected; `content/openings.yaml`. Paid for once a job.

    The state of a truck is the set of openings that are off.
    """

    key: str
    name: str  # as a state: "Heat shield off"
    short: Words  # the part alone, on a toggle under "Off, open or drained now"
    minutes: float = Field(gt=0)  # to take it off, waiting included
    back: float = Field(gt=0)  # minutes to put it back
    forbids: Forbids  # while it is off
    after: list[str] = []  # openings that must be made before it, and are open while it is
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]
    source: str


class Stop(Strict):
    """What must not be done, above any plan; `content/stops/KEY.yaml`. See pwa/engine/evidence/stops.py."""

    key: str
    says: Literal["do not touch yet", "do not start", "do not drive"]
    title: Words  # what is the matter
    why: Words
    lifts: Words  # what must be true before it ends
    order: int = 500  # among those that say the same, the lowest is shown first
    raised_by: dict[str, list[str]] = {}  # finding -> outcomes that raise it
    open: list[str] = []  # openings while which it stands
    caution: list[str] = []  # cautions that belong to it
    source: str

    @model_validator(mode="after")
    def something_raises_it(self) -> Self:
        if not self.raised_by and not self.open:
            raise ValueError("say what raises it: outcomes of findings (raised_by) or openings (open)")
        return self


class Outcome(Strict):
    """One answer to a finding. The first outcome of a finding is the normal one."""

    key: str
    label: str


class Finding(Strict):
    """One thing that can be seen, asked or measured; `content/model/findings/KEY.yaml`."""

    key: str
    name: str
    question: str
    how: str  # how to check, in a few sentences
    outcomes: list[Outcome] = Field(min_length=2)
    # cause -> for each outcome but the first, the chance that this cause alone shows it (noisy-MAX; with
    # two outcomes, noisy-OR)
    shown_by: dict[str, list[float]]
    leak: list[float]  # for each outcome but the first: how often it shows with nothing wrong
    given: str = ""  # the outcome that is true of a job with this complaint
    complaint: str = ""  # the complaint in few words, as it is tapped when a job starts
    alone: bool = False  # who names only such complaints says that power is not lost
    part: str = ""  # the part that it looks at, where not every truck has it
    lacks: dict[str, list[str]] = {}  # outcome -> parts that a truck with this answer does not have
    minutes: float = Field(ge=0)
    tools: list[str] = []
    places: list[Place] = ["bay"]
    way: Way = "looked at"
    running: Running = "off"  # what the engine must be doing
    heat: Heat = "any"  # whether the engine must be cold or hot for it
    opens: list[str] = []  # openings that must be off for it; their minutes come beside its own
    closed: list[str] = []  # openings that must be on again, else the answer means nothing
    locates: dict[str, list[str]] = {}  # outcome -> causes whose place it shows, so that no search is left
    wrong: str = ""  # what a wrong answer here costs
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]
    caution: list[str] = []  # cautions to accept first
    source: str

    @model_validator(mode="before")
    @classmethod
    def _a_part_may_be_missing(cls, data: Any) -> Any:
        if not isinstance(data, dict) or not data.get("part") or not isinstance(data.get("outcomes"), list):
            return data
        said = {"key": NOT_FITTED, "label": DOES_NOT_HAVE}
        lacks = {**(data.get("lacks") or {}), NOT_FITTED: [data["part"]]}
        return {**data, "outcomes": [*data["outcomes"], said], "lacks": lacks}

    def states(self) -> tuple[str, ...]:
        """The outcomes that have chances: that a truck lacks the part has none."""
        return tuple(item.key for item in self.outcomes if item.key != NOT_FITTED)


class Scan(Strict):
    """One check that answers all findings of a way at one go; `content/scan.yaml`. They cost no more each."""

    key: str
    name: str
    question: str
    how: str
    way: Way
    minutes: float = Field(gt=0)
    tools: list[str] = []
    wrong: Words  # what a wrong answer here costs
    source: str


class Choice(Strict):
    key: str
    label: str


class Input(Strict):
    """One thing to type: a number with its unit, one of `choices`, or rows of numbers (`columns`)."""

    key: str
    label: str
    unit: str = ""
    choices: list[Choice] = []
    columns: list["Input"] = []
    hint: str = ""
    signed: bool = False
    optional: bool = False
    maker: bool = False  # a value that only the maker or the shop knows: it is saved with its source

    @model_validator(mode="after")
    def number_has_unit(self) -> Self:
        if not self.choices and not self.columns and not self.unit.strip():
            raise ValueError("a number needs its unit; write 1 where it has none")
        return self


class Limit(Strict):
    """A number a verdict is held against; the shop may overwrite it with its own and its source.

    `soft` says how sharp the boundary is: its standard deviation, in the limit's unit. A reading near the
    limit then counts partly for either side.
    """

    key: str
    label: str
    value: float
    unit: Words
    soft: float = Field(default=0.0, ge=0)
    source: str


class Measure(Strict):
    """A measurement or calculation whose typed numbers become a verdict; `content/measures/KEY.yaml`.

    In a job it is saved, and answers its finding if it has one; the handbook has it as a worksheet.
    """

    key: str
    title: str
    kind: Literal["electrical", "network", "air", "sweep", "fasteners", "heat", "clearances", "proof"]
    how: Html
    where: str  # probe points in words
    calculation: str  # module and function in pwa.engine.measures
    inputs: list[Input]
    limits: list[Limit] = []
    finding: str = ""  # the model's finding that the verdict's outcome answers
    step: Step = "measure"  # the step of the job that offers it
    sources: list[str] = []  # of the formula
    tools: list[str] = []
    caution: list[str] = []
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]


class JointStep(Strict):
    """One thing to do before a joint is opened."""

    do: Literal["clean", "mark", "hold the phone", "photograph", "write down", "mind"]
    text: Words


class Joint(Strict):
    """A joint that must go back as it was; `content/joints/KEY.yaml`."""

    key: str
    name: str
    order: int  # in which they are best marked
    why: str
    guide: list[JointStep] = Field(min_length=2)
    opens: Literal[Step, ""] = ""  # the step that opens it; before it a photo is asked for
    # two marks on a round rim, those of a lever at either stop, a drain against gravity, or only photos
    marks: Literal["angle", "travel", "drain", "photo"]
    fixed: str  # the part that stays, on which the first mark sits
    moving: str  # the part that turns
    rim: str = ""  # which edge to tap, where something is measured
    centre: str = ""  # where the true centre of that edge can be seen, likewise
    write: str = ""  # what to write down before and after, as the label of a field
    fixing: Literal["bolts", "v-band", "other"]
    caution: list[str] = []
    source: str

    @model_validator(mode="after")
    def _a_measurement_has_a_rim(self) -> Self:
        if (self.marks != "photo") != bool(self.rim and self.centre):
            raise ValueError("a measurement needs the rim and where its centre is seen; a photo has neither")
        return self


class Repair(Strict):
    """A choice at the repair step; `content/repairs.yaml`. Parts in hours of labour that cost as much."""

    key: str
    name: str
    text: str
    needs: list[str] = []  # what must be done beside it
    minutes: float = Field(gt=0)
    parts: float = Field(ge=0)
    # Minutes to find the place of the fault, spent unless an answer has shown it (`locates` of the findings).
    search: float = Field(default=0.0, ge=0)
    includes: list[str] = []  # repairs that are part of it: it cures what they cure
    upstream: list[str] = []  # upstream causes that must be fixed too, or it will not last
    proofs: list[str] = []  # what proves it, beside the proofs of every job
    drives: list[Drive] = ["electric", "pneumatic", "hydraulic"]
    retired: bool = False  # not offered any more; jobs in which it was done still name it
    source: str


class Proof(Strict):
    """A check after the repair; `content/proofs.yaml`."""

    key: str
    name: str
    text: str
    answer: Literal["done", "number", "codes"] = "done"
    label: str = "Value"  # what is typed
    unit: str = ""
    always: bool = False  # every job needs it; the others where a repair asks for them
    source: str

    @model_validator(mode="after")
    def number_has_unit(self) -> Self:
        if self.answer == "number" and not self.unit:
            raise ValueError("a number needs its unit")
        return self


class FastenerPlace(Strict):
    """A place where fasteners are torqued: what to look up and remember, never a maker's value."""

    key: str
    name: str
    text: Html
    caution: list[str] = []
    source: str


class Procedure(Strict):
    """A handbook page; `content/procedures/KEY.md` with these fields as front matter."""

    key: str
    title: str
    summary: str
    body: Html
    cautions: list[str] = []
    sources: list[str] = Field(min_length=1)


class Numbered(Strict):
    """A finding in case codes: its outcomes in the order of their numbers."""

    key: str
    outcomes: list[str]
    retired: bool = False  # content has it no longer; old codes still name it


class CaseCode(Strict):
    """What stands for what in a case code; `content/case-code.yaml`. A key's place is its number."""

    drives: list[JobDrive] = []
    places: list[Place] = []
    states: list[str] = []
    findings: list[Numbered] = []


class Content(Strict):
    """All of content/, compiled."""

    sources: dict[str, Source]
    engines: list[Engine]
    actuators: list[Actuator] = []
    parts: list[Part] = []
    cautions: list[Caution]
    codes: Codes
    causes: list[Cause]
    findings: list[Finding]
    measures: list[Measure]
    joints: list[Joint]
    openings: list[Opening]
    scans: list[Scan] = []
    stops: list[Stop]
    repairs: list[Repair]
    proofs: list[Proof]
    fasteners: list[FastenerPlace]
    procedures: list[Procedure]
    case_code: CaseCode = CaseCode()
