"""Written by pwa/build/record_types.py from the table of kinds; do not edit."""

from collections.abc import Iterable
from typing import Any, Literal, NotRequired, Protocol, TypedDict, final, overload

from typing_extensions import ReadOnly

from pwa.app.protocol import Draft, RecordOf

@final
class Checked(TypedDict):
    blur: ReadOnly[NotRequired[float | None]]
    dark: ReadOnly[NotRequired[float]]
    bright: ReadOnly[NotRequired[float]]
    problems: ReadOnly[list[str]]

@final
class Detail(TypedDict):
    label: str
    value: float
    unit: str

@final
class Verdict(TypedDict):
    value: ReadOnly[float]
    unit: ReadOnly[str]
    outcome: ReadOnly[str]
    sentence: ReadOnly[str]
    details: ReadOnly[list[Detail]]
    warnings: ReadOnly[NotRequired[list[str]]]

@final
class Signal(TypedDict):
    name: ReadOnly[str]
    source: ReadOnly[str]
    unit: ReadOnly[NotRequired[str]]
    standing: ReadOnly[NotRequired[str]]
    count: ReadOnly[NotRequired[int]]
    least: ReadOnly[NotRequired[float | None]]
    most: ReadOnly[NotRequired[float | None]]

@final
class Log(TypedDict):
    name: ReadOnly[str]
    size: ReadOnly[int]
    sha256: ReadOnly[str]
    rows: ReadOnly[int]
    start: ReadOnly[float]
    end: ReadOnly[float]
    form: ReadOnly[NotRequired[str]]
    duration: ReadOnly[NotRequired[float]]
    damaged: ReadOnly[NotRequired[int]]
    signals: ReadOnly[NotRequired[dict[str, Signal]]]
    picture: ReadOnly[NotRequired[dict[str, list[list[float]]]]]

@final
class Ellipse(TypedDict):
    cx: float
    cy: float
    a: float
    b: float
    phi: float

@final
class DrainReading(TypedDict):
    off: float
    u: float
    low: float
    high: float
    ellipse: Ellipse
    verdict: str
    advice: str
    sentence: str

@final
class AngleReading(TypedDict):
    angle: ReadOnly[float]
    u: ReadOnly[float]
    ellipse: ReadOnly[Ellipse]
    low: ReadOnly[NotRequired[float]]
    high: ReadOnly[NotRequired[float]]
    noise: ReadOnly[NotRequired[float]]
    limit: ReadOnly[NotRequired[float]]
    perspective: ReadOnly[NotRequired[str]]
    residual: ReadOnly[NotRequired[float]]
    coverage: ReadOnly[NotRequired[float]]
    tap: ReadOnly[NotRequired[float]]
    marks: ReadOnly[NotRequired[list[list[float]]]]
    shift: ReadOnly[NotRequired[float]]
    nearness: ReadOnly[NotRequired[float]]
    advice: ReadOnly[NotRequired[str]]

@final
class Bolt(TypedDict):
    diameter: ReadOnly[NotRequired[float]]
    pitch: ReadOnly[NotRequired[float]]
    per_inch: ReadOnly[NotRequired[float]]
    strength: ReadOnly[NotRequired[str]]
    meant: ReadOnly[NotRequired[str]]
    surface: ReadOnly[NotRequired[str]]

@final
class JobOpened(TypedDict):
    unit: str
    complaint: str
    drive: str
    place: str
    engine: str
    distance: str
    hours: float | None
    complaints: NotRequired[list[str]]

@final
class CautionAccepted(TypedDict):
    caution: str
    place: NotRequired[str]
    rule: NotRequired[str]
    source: NotRequired[str]
    as_of: NotRequired[str]

@final
class Note(TypedDict):
    text: str

@final
class Photo(TypedDict):
    sha256: str
    size: int
    type: str
    width: int
    height: int
    caption: str
    joint: str
    moment: str
    checked: NotRequired[Checked | None]
    gravity: NotRequired[list[float] | None]
    turned: NotRequired[int]

@final
class Withdrawal(TypedDict):
    records: list[str]
    reason: str

@final
class JobClosed(TypedDict):
    outcome: str
    note: str
    seen: NotRequired[str]

@final
class Here(TypedDict):
    place: str
    heat: NotRequired[str]
    state: NotRequired[str]
    without: NotRequired[list[str]]
    opened: NotRequired[list[str]]

@final
class Code(TypedDict):
    typed: str
    key: str
    kind: str
    spn: int | None
    fmi: int | None
    occurrences: NotRequired[int | None]
    lamps: NotRequired[list[str]]
    candidates: NotRequired[list[int]]
    failure: NotRequired[int | None]
    message: NotRequired[str]
    source: NotRequired[int | None]
    status: NotRequired[str]
    about: NotRequired[str]

@final
class Finding(TypedDict):
    finding: str
    outcome: str
    by: NotRequired[str]
    state: NotRequired[str]
    opened: NotRequired[list[str]]
    weights: NotRequired[dict[str, float]]
    note: NotRequired[str]

@final
class Skipped(TypedDict):
    finding: str
    reason: NotRequired[str]
    place: NotRequired[str]

@final
class StopLifted(TypedDict):
    stop: str
    how: str
    seen: list[str]

@final
class Cause(TypedDict):
    cause: str
    decision: str
    reason: str

@final
class Reading(TypedDict):
    measure: str
    typed: dict[str, str | list[list[str]]]
    verdict: Verdict | None
    units: NotRequired[dict[str, str]]
    values: NotRequired[dict[str, float | str | list[list[float]]]]
    limits: NotRequired[dict[str, float]]
    limit_source: NotRequired[str]
    refused: NotRequired[str]
    log: NotRequired[Log]

@final
class Marks(TypedDict):
    photo: str
    joint: str
    moment: str
    reading: DrainReading | AngleReading
    rim: NotRequired[list[list[float]]]
    holes: NotRequired[list[list[float]]]
    fixed: NotRequired[list[float] | None]
    moving: NotRequired[list[float] | None]
    centre: NotRequired[list[float] | None]
    bolts: NotRequired[int]
    same_view: NotRequired[bool]

@final
class PhotoCounts(TypedDict):
    photo: str
    joint: str
    moment: str
    counts: bool
    reason: NotRequired[str]

@final
class Written(TypedDict):
    joint: str
    moment: str
    text: str

@final
class Unphotographed(TypedDict):
    joints: list[str]
    reason: str
    step: NotRequired[str]

@final
class Tolerance(TypedDict):
    joint: str
    degrees: float
    source: str
    bolts: NotRequired[int]
    diameter: NotRequired[float]

@final
class TravelLimits(TypedDict):
    joint: str
    least: float
    most: float
    source: str
    length: NotRequired[float]

@final
class Repair(TypedDict):
    repair: str
    note: NotRequired[str]

@final
class Fastener(TypedDict):
    place: str
    count: int
    kind: str
    torque: float
    typed: str
    unit: str
    source: str
    wrench: float | None
    extension: float | None
    angle: float | None
    setting: float
    stages: NotRequired[list[float]]
    turn: NotRequired[float | None]
    bolt: NotRequired[Bolt]

@final
class Torque(TypedDict):
    fastener: str
    bolt: int
    actual: float
    typed: NotRequired[str]
    turned: NotRequired[float | None]

@final
class Proof(TypedDict):
    proof: str
    result: str
    value: NotRequired[str]
    unit: NotRequired[str]
    note: NotRequired[str]
    applies: NotRequired[bool]
    against: NotRequired[str]

@final
class Prices(TypedDict):
    rate: float
    currency: NotRequired[str]
    source: NotRequired[str]
    come_back: NotRequired[float]
    minutes: NotRequired[dict[str, float]]
    parts: NotRequired[dict[str, float]]
    off: NotRequired[list[str]]

@final
class Person(TypedDict):
    name: str

@final
class SetAside(TypedDict):
    record: str
    aside: bool
    reason: str

class OfKind(Protocol):
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["job-opened"], **fields: str) -> list[RecordOf[JobOpened]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["caution-accepted"], **fields: str) -> list[RecordOf[CautionAccepted]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["note"], **fields: str) -> list[RecordOf[Note]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["photo"], **fields: str) -> list[RecordOf[Photo]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["withdrawal"], **fields: str) -> list[RecordOf[Withdrawal]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["job-closed"], **fields: str) -> list[RecordOf[JobClosed]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["here"], **fields: str) -> list[RecordOf[Here]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["code"], **fields: str) -> list[RecordOf[Code]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["finding"], **fields: str) -> list[RecordOf[Finding]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["skipped"], **fields: str) -> list[RecordOf[Skipped]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["stop-lifted"], **fields: str) -> list[RecordOf[StopLifted]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["cause"], **fields: str) -> list[RecordOf[Cause]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["reading"], **fields: str) -> list[RecordOf[Reading]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["marks"], **fields: str) -> list[RecordOf[Marks]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["photo-counts"], **fields: str) -> list[RecordOf[PhotoCounts]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["written"], **fields: str) -> list[RecordOf[Written]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["unphotographed"], **fields: str) -> list[RecordOf[Unphotographed]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["tolerance"], **fields: str) -> list[RecordOf[Tolerance]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["travel-limits"], **fields: str) -> list[RecordOf[TravelLimits]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["repair"], **fields: str) -> list[RecordOf[Repair]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["fastener"], **fields: str) -> list[RecordOf[Fastener]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["torque"], **fields: str) -> list[RecordOf[Torque]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["proof"], **fields: str) -> list[RecordOf[Proof]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["prices"], **fields: str) -> list[RecordOf[Prices]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["person"], **fields: str) -> list[RecordOf[Person]]: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["set-aside"], **fields: str) -> list[RecordOf[SetAside]]: ...

class Latest(Protocol):
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["job-opened"], **fields: str) -> RecordOf[JobOpened] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["caution-accepted"], **fields: str) -> RecordOf[CautionAccepted] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["note"], **fields: str) -> RecordOf[Note] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["photo"], **fields: str) -> RecordOf[Photo] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["withdrawal"], **fields: str) -> RecordOf[Withdrawal] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["job-closed"], **fields: str) -> RecordOf[JobClosed] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["here"], **fields: str) -> RecordOf[Here] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["code"], **fields: str) -> RecordOf[Code] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["finding"], **fields: str) -> RecordOf[Finding] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["skipped"], **fields: str) -> RecordOf[Skipped] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["stop-lifted"], **fields: str) -> RecordOf[StopLifted] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["cause"], **fields: str) -> RecordOf[Cause] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["reading"], **fields: str) -> RecordOf[Reading] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["marks"], **fields: str) -> RecordOf[Marks] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["photo-counts"], **fields: str) -> RecordOf[PhotoCounts] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["written"], **fields: str) -> RecordOf[Written] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["unphotographed"], **fields: str) -> RecordOf[Unphotographed] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["tolerance"], **fields: str) -> RecordOf[Tolerance] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["travel-limits"], **fields: str) -> RecordOf[TravelLimits] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["repair"], **fields: str) -> RecordOf[Repair] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["fastener"], **fields: str) -> RecordOf[Fastener] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["torque"], **fields: str) -> RecordOf[Torque] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["proof"], **fields: str) -> RecordOf[Proof] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["prices"], **fields: str) -> RecordOf[Prices] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["person"], **fields: str) -> RecordOf[Person] | None: ...
    @overload
    def __call__(self, records: Iterable[RecordOf[Any]], kind: Literal["set-aside"], **fields: str) -> RecordOf[SetAside] | None: ...

class Drafter(Protocol):
    @overload
    def __call__(self, job: str, kind: Literal["job-opened"], data: JobOpened, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["caution-accepted"], data: CautionAccepted, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["note"], data: Note, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["photo"], data: Photo, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["withdrawal"], data: Withdrawal, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["job-closed"], data: JobClosed, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["here"], data: Here, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["code"], data: Code, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["finding"], data: Finding, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["skipped"], data: Skipped, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["stop-lifted"], data: StopLifted, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["cause"], data: Cause, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["reading"], data: Reading, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["marks"], data: Marks, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["photo-counts"], data: PhotoCounts, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["written"], data: Written, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["unphotographed"], data: Unphotographed, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["tolerance"], data: Tolerance, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["travel-limits"], data: TravelLimits, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["repair"], data: Repair, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["fastener"], data: Fastener, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["torque"], data: Torque, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["proof"], data: Proof, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["prices"], data: Prices, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["person"], data: Person, replaces: list[str] | None = None) -> Draft: ...
    @overload
    def __call__(self, job: str, kind: Literal["set-aside"], data: SetAside, replaces: list[str] | None = None) -> Draft: ...
