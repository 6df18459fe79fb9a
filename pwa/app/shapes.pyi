"""What stands in the compiled content, for the type checker alone: import it under TYPE_CHECKING.

Do not edit: `python -m pwa.build.content.shapes` writes it from schema.py.
"""

from typing import Literal, TypedDict

from pwa.engine.evidence.network import Model

Place = Literal["roadside", "bay", "turbo off"]
Drive = Literal["electric", "pneumatic", "hydraulic"]
JobDrive = Literal["electric", "pneumatic", "hydraulic", "not known"]
Step = Literal[
    "safe",
    "codes",
    "isolate",
    "measure",
    "joints",
    "repair",
    "fasteners",
    "cause",
    "prove",
    "summary",
]
Way = Literal["asked", "codes", "looked at", "measured", "commanded"]
Heat = Literal["any", "cold", "hot"]
Running = Literal["off", "key on", "idle", "load", "road"]
Forbids = Literal["nothing", "road", "load", "start", "key on"]
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

class Actuator(TypedDict):
    key: Drive
    name: str
    share: float
    source: str

class CaseCode(TypedDict):
    drives: list[JobDrive]
    places: list[Place]
    states: list[str]
    findings: list[Numbered]

class Cause(TypedDict):
    key: str
    name: str
    system: System
    upstream: bool
    text: str
    shows: str
    chance: float
    because_of: dict[str, float]
    drives: list[Drive]
    part: str
    reached: Place
    wrong: str
    put_right: dict[str, float]
    comes_back: float
    seen: float
    source: str

class Caution(TypedDict):
    key: str
    title: str
    hazard: str
    body: str
    order: int
    steps: list[Step]
    drives: list[Drive]
    places: list[Place]
    distances: list[Distance]
    sources: list[str]

class Choice(TypedDict):
    key: str
    label: str

class Code(TypedDict):
    text: str
    kind: CodeClass
    source: str
    system: str
    finding: str
    outcome: str
    could: list[str]

class CodeRange(TypedDict):
    text: str
    systems: list[str]
    source: str

class CodeSystem(TypedDict):
    name: str
    broad: str
    tells: dict[str, list[str]]
    source: str

class Codes(TypedDict):
    spn: dict[str, Code]
    fmi: dict[str, Code]
    dtc: dict[str, Code]
    pairs: dict[str, Code]
    systems: dict[str, CodeSystem]
    ranges: dict[str, CodeRange]

class Distance(TypedDict):
    key: str
    place: str
    rule: str
    devices: Literal["place", "none"]
    source: str
    as_of: str

class Engine(TypedDict):
    key: str
    name: str

class FastenerPlace(TypedDict):
    key: str
    name: str
    text: str
    caution: list[str]
    source: str

class Finding(TypedDict):
    key: str
    name: str
    question: str
    how: str
    outcomes: list[Outcome]
    shown_by: dict[str, list[float]]
    leak: list[float]
    given: str
    complaint: str
    alone: bool
    part: str
    lacks: dict[str, list[str]]
    minutes: float
    tools: list[str]
    places: list[Place]
    way: Way
    running: Running
    heat: Heat
    opens: list[str]
    closed: list[str]
    locates: dict[str, list[str]]
    wrong: str
    drives: list[Drive]
    caution: list[str]
    source: str

class Input(TypedDict):
    key: str
    label: str
    unit: str
    choices: list[Choice]
    columns: list[Input]
    hint: str
    signed: bool
    optional: bool
    maker: bool

class Joint(TypedDict):
    key: str
    name: str
    order: int
    why: str
    guide: list[JointStep]
    opens: Literal[
        "safe",
        "codes",
        "isolate",
        "measure",
        "joints",
        "repair",
        "fasteners",
        "cause",
        "prove",
        "summary",
        "",
    ]
    marks: Literal["angle", "travel", "drain", "photo"]
    fixed: str
    moving: str
    rim: str
    centre: str
    write: str
    fixing: Literal["bolts", "v-band", "other"]
    caution: list[str]
    source: str

class JointStep(TypedDict):
    do: Literal["clean", "mark", "hold the phone", "photograph", "write down", "mind"]
    text: str

class Limit(TypedDict):
    key: str
    label: str
    value: float
    unit: str
    soft: float
    source: str

class Measure(TypedDict):
    key: str
    title: str
    kind: Literal["electrical", "network", "air", "sweep", "fasteners", "heat", "clearances", "proof"]
    how: str
    where: str
    calculation: str
    inputs: list[Input]
    limits: list[Limit]
    finding: str
    step: Step
    sources: list[str]
    tools: list[str]
    caution: list[str]
    drives: list[Drive]

class Numbered(TypedDict):
    key: str
    outcomes: list[str]
    retired: bool

class Opening(TypedDict):
    key: str
    name: str
    short: str
    minutes: float
    back: float
    forbids: Forbids
    after: list[str]
    drives: list[Drive]
    source: str

class Outcome(TypedDict):
    key: str
    label: str

class Part(TypedDict):
    key: str
    name: str

class Procedure(TypedDict):
    key: str
    title: str
    summary: str
    body: str
    cautions: list[str]
    sources: list[str]

class Proof(TypedDict):
    key: str
    name: str
    text: str
    answer: Literal["done", "number", "codes"]
    label: str
    unit: str
    always: bool
    source: str

class Repair(TypedDict):
    key: str
    name: str
    text: str
    needs: list[str]
    minutes: float
    parts: float
    search: float
    includes: list[str]
    upstream: list[str]
    proofs: list[str]
    drives: list[Drive]
    retired: bool
    source: str

class Scan(TypedDict):
    key: str
    name: str
    question: str
    how: str
    way: Way
    minutes: float
    tools: list[str]
    wrong: str
    source: str

class Source(TypedDict):
    text: str
    kind: Literal[
        "standard",
        "law",
        "study",
        "handbook",
        "worked out",
        "common practice",
        "our estimate",
        "from memory",
    ]

class Stop(TypedDict):
    key: str
    says: Literal["do not touch yet", "do not start", "do not drive"]
    title: str
    why: str
    lifts: str
    order: int
    raised_by: dict[str, list[str]]
    open: list[str]
    caution: list[str]
    source: str

class Content(TypedDict):
    sources: dict[str, Source]
    engines: list[Engine]
    actuators: list[Actuator]
    parts: list[Part]
    cautions: list[Caution]
    codes: Codes
    causes: list[Cause]
    findings: list[Finding]
    measures: list[Measure]
    joints: list[Joint]
    openings: list[Opening]
    scans: list[Scan]
    stops: list[Stop]
    repairs: list[Repair]
    proofs: list[Proof]
    fasteners: list[FastenerPlace]
    procedures: list[Procedure]
    case_code: CaseCode
    model: Model
    version: str
