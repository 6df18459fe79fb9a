"""Written by pwa/build/record_types.py from the table of kinds; do not edit."""

from collections.abc import Iterable
from typing import Any, Literal, NotRequired, Protocol, TypedDict, final, overload

from typing_extensions import ReadOnly

from pwa.app.protocol import RecordOf
from pwa.app.record.chain import Draft

@final
class Checked(TypedDict):
    blur: ReadOnly[NotRequired[float | None]]
    dark: ReadOnly[NotRequired[float]]
    bright: ReadOnly[NotRequired[float]]
    problems: ReadOnly[list[str]]

@final
class Detail(TypedDict):
    label: ReadOnly[str]
    value: ReadOnly[float]
    unit: ReadOnly[str]

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
    cx: ReadOnly[float]
    cy: ReadOnly[float]
    a: ReadOnly[float]
    b: ReadOnly[float]
    phi: ReadOnly[float]

@final
class DrainReading(TypedDict):
    off: ReadOnly[float]
    u: ReadOnly[float]
    low: ReadOnly[float]
    high: ReadOnly[float]
    ellipse: ReadOnly[Ellipse]
    verdict: ReadOnly[str]
    advice: ReadOnly[str]
    sentence: ReadOnly[str]

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
    unit: ReadOnly[str]
    complaint: ReadOnly[str]
    drive: ReadOnly[str]
    place: ReadOnly[str]
    engine: ReadOnly[str]
    distance: ReadOnly[str]
    hours: ReadOnly[float | None]

@final
class CautionAccepted(TypedDict):
    caution: ReadOnly[str]
    place: ReadOnly[NotRequired[str]]
    rule: ReadOnly[NotRequired[str]]
    source: ReadOnly[NotRequired[str]]
    as_of: ReadOnly[NotRequired[str]]

@final
class Note(TypedDict):
    text: ReadOnly[str]

@final
class Photo(TypedDict):
    sha256: ReadOnly[str]
    size: ReadOnly[NotRequired[int]]
    type: ReadOnly[NotRequired[str]]
    width: ReadOnly[NotRequired[int]]
    height: ReadOnly[NotRequired[int]]
    caption: ReadOnly[NotRequired[str]]
    joint: ReadOnly[NotRequired[str]]
    moment: ReadOnly[NotRequired[str]]
    checked: ReadOnly[NotRequired[Checked | None]]
    gravity: ReadOnly[NotRequired[list[float] | None]]
    turned: ReadOnly[NotRequired[int]]

@final
class JobClosed(TypedDict):
    outcome: ReadOnly[str]
    note: ReadOnly[NotRequired[str]]

@final
class Here(TypedDict):
    place: ReadOnly[str]
    heat: ReadOnly[NotRequired[str]]
    state: ReadOnly[NotRequired[str]]
    without: ReadOnly[NotRequired[list[str]]]
    opened: ReadOnly[NotRequired[list[str]]]

@final
class Code(TypedDict):
    typed: ReadOnly[str]
    key: ReadOnly[str]
    kind: ReadOnly[str]
    spn: ReadOnly[int | None]
    fmi: ReadOnly[int | None]
    occurrences: ReadOnly[NotRequired[int | None]]
    lamps: ReadOnly[NotRequired[list[str]]]
    candidates: ReadOnly[NotRequired[list[int]]]
    failure: ReadOnly[NotRequired[int | None]]
    message: ReadOnly[NotRequired[str]]
    source: ReadOnly[NotRequired[int | None]]

@final
class Finding(TypedDict):
    finding: ReadOnly[str]
    outcome: ReadOnly[str]
    by: ReadOnly[NotRequired[str]]
    state: ReadOnly[NotRequired[str]]
    weights: ReadOnly[NotRequired[dict[str, float]]]
    note: ReadOnly[NotRequired[str]]

@final
class Skipped(TypedDict):
    finding: ReadOnly[str]
    reason: ReadOnly[NotRequired[str]]
    place: ReadOnly[NotRequired[str]]

@final
class Cause(TypedDict):
    cause: ReadOnly[str]
    decision: ReadOnly[str]
    reason: ReadOnly[str]

@final
class Reading(TypedDict):
    measure: ReadOnly[str]
    typed: ReadOnly[dict[str, str | list[list[str]]]]
    verdict: ReadOnly[Verdict | None]
    units: ReadOnly[NotRequired[dict[str, str]]]
    values: ReadOnly[NotRequired[dict[str, float | str | list[list[float]]]]]
    limits: ReadOnly[NotRequired[dict[str, float]]]
    limit_source: ReadOnly[NotRequired[str]]
    refused: ReadOnly[NotRequired[str]]
    log: ReadOnly[NotRequired[Log]]

@final
class Marks(TypedDict):
    photo: ReadOnly[str]
    joint: ReadOnly[str]
    moment: ReadOnly[str]
    reading: ReadOnly[DrainReading | AngleReading]
    rim: ReadOnly[NotRequired[list[list[float]]]]
    holes: ReadOnly[NotRequired[list[list[float]]]]
    fixed: ReadOnly[NotRequired[list[float] | None]]
    moving: ReadOnly[NotRequired[list[float] | None]]
    centre: ReadOnly[NotRequired[list[float] | None]]
    bolts: ReadOnly[NotRequired[int]]
    same_view: ReadOnly[NotRequired[bool]]

@final
class PhotoCounts(TypedDict):
    photo: ReadOnly[str]
    joint: ReadOnly[str]
    moment: ReadOnly[str]
    counts: ReadOnly[bool]
    reason: ReadOnly[NotRequired[str]]

@final
class Written(TypedDict):
    joint: ReadOnly[str]
    moment: ReadOnly[str]
    text: ReadOnly[str]

@final
class Unphotographed(TypedDict):
    joints: ReadOnly[list[str]]
    reason: ReadOnly[str]
    step: ReadOnly[NotRequired[str]]

@final
class Tolerance(TypedDict):
    joint: ReadOnly[str]
    degrees: ReadOnly[float]
    source: ReadOnly[str]
    bolts: ReadOnly[NotRequired[int]]
    diameter: ReadOnly[NotRequired[float]]

@final
class TravelLimits(TypedDict):
    joint: ReadOnly[str]
    least: ReadOnly[float]
    most: ReadOnly[float]
    source: ReadOnly[str]
    length: ReadOnly[NotRequired[float]]

@final
class Repair(TypedDict):
    repair: ReadOnly[str]
    note: ReadOnly[NotRequired[str]]

@final
class Fastener(TypedDict):
    place: ReadOnly[str]
    count: ReadOnly[int]
    kind: ReadOnly[str]
    torque: ReadOnly[float]
    typed: ReadOnly[str]
    unit: ReadOnly[str]
    source: ReadOnly[str]
    wrench: ReadOnly[float | None]
    extension: ReadOnly[float | None]
    angle: ReadOnly[float | None]
    setting: ReadOnly[float]
    stages: ReadOnly[NotRequired[list[float]]]
    turn: ReadOnly[NotRequired[float | None]]
    bolt: ReadOnly[NotRequired[Bolt]]

@final
class Torque(TypedDict):
    fastener: ReadOnly[str]
    bolt: ReadOnly[int]
    actual: ReadOnly[float]
    typed: ReadOnly[NotRequired[str]]
    turned: ReadOnly[NotRequired[float | None]]

@final
class Proof(TypedDict):
    proof: ReadOnly[str]
    result: ReadOnly[str]
    value: ReadOnly[NotRequired[str]]
    unit: ReadOnly[NotRequired[str]]
    note: ReadOnly[NotRequired[str]]

@final
class Prices(TypedDict):
    rate: ReadOnly[float]
    currency: ReadOnly[NotRequired[str]]
    source: ReadOnly[NotRequired[str]]
    come_back: ReadOnly[NotRequired[float]]
    minutes: ReadOnly[NotRequired[dict[str, float]]]
    parts: ReadOnly[NotRequired[dict[str, float]]]

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
