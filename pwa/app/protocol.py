"""What crosses the border between the notebook and its host (the phone's worker or the shop's server).

Only JSON text crosses, in both directions. The host asks `Notebook.needs` which rows to fetch, passes them
to `Notebook.answer`, stores what comes back in one transaction, and only then lets the page go out.
"""

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from typing import Any, Generic, NotRequired, TypeVar

    from pwa.app.shapes import Content as Content

    Form = dict[str, list[str]]
    Data = TypeVar("Data")

    class RecordOf(TypedDict, Generic[Data]):
        """One immutable entry (record/chain.py); `data` holds the kind's own fields (kinds/table.py)."""

        v: NotRequired[int]  # of the record's own form, 1 where it is missing
        received: NotRequired[int]  # the row's; it stands in no text
        withdrawn: NotRequired[str]  # the hash of what was written, in remains (record/remains.py)
        long: NotRequired[bool]  # its text is longer than any that is understood; nor does this

        id: str
        job: str
        device: str
        author: str
        seq: int
        prev: str
        clock: str
        time: int
        kind: str
        replaces: list[str]
        data: Data

    Record = RecordOf[Any]  # of any kind


class Device(TypedDict):
    """The writer of records: a phone, or the desk. `seq`, `head` and `clock` advance with every record."""

    id: str  # UUID
    name: str  # who or what writes, as people know it ("Bay 2 phone")
    seq: int  # of the last record written, 0 before the first
    head: str  # SHA-256 (hex) of the last record's text, "" before the first
    clock: str  # hybrid logical clock of the last record seen or written, "" before the first


class Synced(TypedDict):
    """The last sync of a phone, as it keeps it (pwa/phone/sync.js)."""

    good: "int | None"  # when the last one went well, in ms since 1970
    message: str  # what went wrong since
    refused: "list[dict[str, str]]"
    gaps: "list[dict[str, str]]"
    skew: "NotRequired[int]"  # ms that this clock is ahead of the server's
    unsigned: "NotRequired[str]"  # why the shop took no signature, "" if it did


class Restored(TypedDict):
    """A phone that was put back from an old backup: when that was found, and how many entries it has anew."""

    at: int
    entries: int


class Failure(TypedDict):
    """Where the app failed last on this phone: when, and the traceback."""

    at: int
    text: str


class SignedHead(TypedDict):
    """The end of a device's chain as it signed it and the shop countersigned it; times in ms since 1970."""

    seq: int
    head: str  # SHA-256 of the record of that number
    time: int  # by the device's clock
    received: int  # by the shop's


class Status(TypedDict):
    """What the host says of itself; sizes in bytes, times in ms since 1970."""

    unsent_notes: int
    unsent_photos: int
    unsent_times: "NotRequired[list[int]]"
    waiting: "NotRequired[int]"  # entries of the journal that could not be worked in
    enrolled: "NotRequired[bool]"
    damaged: "NotRequired[bool]"  # a file of the app
    sync: "NotRequired[Synced | None]"
    notes: "NotRequired[int]"  # all that are here
    photos: "NotRequired[int]"
    used: "NotRequired[int | None]"  # None where the browser does not say
    promised: "NotRequired[bool | None]"
    sent_photos: "NotRequired[int]"
    sent_size: "NotRequired[int]"
    restored: "NotRequired[Restored | None]"
    failure: "NotRequired[Failure | None]"
    keyless: "NotRequired[bool]"  # the browser cannot make or keep a signing key
    heads: "NotRequired[dict[str, SignedHead]]"  # the newest of each device, as far as the host has them
    shop: "NotRequired[str]"  # the desk's own: its shop's name
    first_steps: "NotRequired[bool]"
    phones_waiting: "NotRequired[int]"  # for somebody's yes, after the shop was put back from a backup
    person: "NotRequired[str]"  # at the desk: who is signed in, and as what
    role: "NotRequired[str]"  # "owner", "desk", or "viewer", who only reads


class Request(TypedDict):
    """One page asked for, or one form posted. `query` and `form` hold every value of each field."""

    method: str  # "GET" or "POST"
    path: str  # without the host's prefix: "/job/0190.../safe"
    query: "Form"
    form: "Form"
    now: int  # milliseconds since 1970 by the host's clock
    zone: int  # minutes that local time is ahead of UTC
    random: str  # at least 4096 hex digits of fresh randomness, 20 for each record
    host: str  # "phone" or "desk"
    base: str  # the prefix of every link: "" on the phone, "/desk" at the desk
    device: Device
    status: "Status"
    token: "NotRequired[str]"  # the phone's own, for the forms of its pages; the desk has none


class Needs(TypedDict):
    """Which records a request must be given: those of one job, and those of some kinds of every job."""

    job: str  # a job's id, or ""
    kinds: "list[str]"


class Row(TypedDict):
    """A record as a host stores it: its text, and what the host looks it up by. Either may be damaged."""

    id: str
    job: str
    kind: str
    device: str
    seq: int
    text: str
    received: "NotRequired[int]"  # when the server got it, in ms since 1970; the desk has it
    carried: "NotRequired[int]"  # 1: a file brought it, and nobody else yet
    contradicted: "NotRequired[int]"  # 1: a file brought it, and its device says something else


class Draft(TypedDict):
    """What a screen wants remembered, before it is sealed."""

    job: str
    kind: str
    data: "Any"  # the kind's own
    replaces: "list[str]"


class Answer(TypedDict):
    """`records` are texts, sealed and in order; `device` is the writer's state after them."""

    status: int
    location: str  # where to go next when status is 303, with the host's prefix
    type: str
    body: str
    records: "list[str]"
    device: Device
    remains: "list[str]"  # texts that stand in the place of records whose content was withdrawn
    gone: "list[str]"  # SHA-256 of photos whose bytes go with them
