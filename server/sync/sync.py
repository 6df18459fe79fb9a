"""`POST /enrol` and `POST /sync`: how a phone joins the shop, and how their records become the same set."""

import contextlib
import re
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from pwa.app import contract
from pwa.app.record.chain import digest
from server import door, observe
from server.errors import Refused
from server.signing import Head
from server.store import entries, heads, put_back, shop
from server.store.heads import NotSigned
from server.store.ledger import Ledger, Refusal
from server.store.put_back import Behind
from server.sync import bodies

OLDEST, NEWEST = 1, contract.PROTOCOL  # the protocols that this server speaks (pwa/README.md, "Versions")
PREV = re.compile(r'"prev": "([0-9a-f]{64})"')


class Enrolment(BaseModel):
    model_config = ConfigDict(strict=True)

    code: Annotated[str, Field(max_length=40)]
    device: entries.Id
    name: Annotated[str, Field(min_length=1, max_length=contract.NAME_LENGTH)]
    key: Any = None  # the phone's public key; a bad one is no reason to keep the phone out


class Spoken(BaseModel):
    model_config = ConfigDict(strict=True)

    protocol: int


class Batch(BaseModel):
    """What a phone sends. Fields with a default are younger than the protocol: older phones lack them."""

    model_config = ConfigDict(strict=True)

    protocol: int
    device: entries.Id
    epoch: Annotated[str, Field(max_length=64)]
    cursor: Annotated[int, Field(ge=0, le=entries.SAFE_INTEGER)]
    records: Annotated[list[str], Field(max_length=contract.TAKEN_RECORDS)]
    seq: Annotated[int, Field(ge=0, le=entries.SAFE_INTEGER)] | None = None  # of the last one it wrote
    short: bool = False  # it reads answers without empty fields, or empty (204), and shortened records
    # How much of others' records the phone wants back at most, in characters: what its line bears.
    room: Annotated[int, Field(ge=1)] = contract.ANSWER_SIZE
    acked: Annotated[int, Field(ge=0, le=entries.SAFE_INTEGER)] = 0  # the last of its own that was taken here
    mark: Annotated[str, Field(max_length=100)] | None = (
        None  # what it got with its cursor (store/put_back.py)
    )
    signed: Any = None  # a `SignedHead`; a bad one is no reason to refuse the records


class SignedHead(BaseModel):
    """Where the phone's chain is when this batch has been taken, signed (server/signing.py)."""

    model_config = ConfigDict(strict=True)

    key: Annotated[str, Field(max_length=200)]
    seq: Annotated[int, Field(ge=1, le=entries.SAFE_INTEGER)]
    head: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    time: Annotated[int, Field(ge=-entries.SAFE_INTEGER, le=entries.SAFE_INTEGER)]
    signature: Annotated[str, Field(max_length=200)]


class Fork(BaseModel):
    model_config = ConfigDict(strict=True)

    device: entries.Id
    token: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


async def enrol(request: Request) -> Response:
    here, address = shop.of(request), door.address(request)
    here.tried_codes.begin(address, shop.now())  # before anything of it is read
    asked = bodies.parsed(Enrolment, await bodies.read(request, bodies.LITTLE))
    token = await run_in_threadpool(here.access.enrol, asked.code, asked.device, asked.name, shop.now())
    here.tried_codes.right(address)
    if isinstance(asked.key, str):
        with contextlib.suppress(ValueError):  # the next sync says what is wrong with it
            await run_in_threadpool(here.heads.register, asked.device, asked.key, shop.now(), True)
    return JSONResponse({"token": token})


async def sync(request: Request) -> Response:
    device = door.who(request).device
    content = await bodies.read(request, bodies.RECORDS)
    here = shop.of(request)
    return await here.turns.merges(_synced, here, device, content)


def _synced(here: shop.Shop, device: str, content: bytes) -> Response:
    said = bodies.value(content)
    _insist_on_protocol(bodies.fitting(Spoken, said).protocol)  # another one may have other fields
    batch = bodies.fitting(Batch, said)
    if batch.device != device:
        raise Refused(403, "other_device", "The token belongs to another device than the one named.")
    return _merge(here, batch)


def _insist_on_protocol(spoken: int) -> None:
    if spoken > NEWEST:
        raise Refused(
            409, "protocol",
            "The shop's server is older than the app on this phone. Ask whoever runs the server to update "
            "it. Everything stays safe on this phone and is sent after that.",
        )  # fmt: skip
    if spoken < OLDEST:
        raise Refused(
            409, "protocol",
            "The app on this phone is too old for the shop's server. Close it, open it again with signal and "
            "take the update. Everything stays safe on this phone and is sent after that.",
        )  # fmt: skip


async def fork(request: Request) -> Response:
    """A phone whose storage was restored from an old backup goes on as a device of its own."""
    asked = bodies.parsed(Fork, await bodies.read(request, bodies.LITTLE))
    return await run_in_threadpool(_fork, shop.of(request), door.who(request).device, asked)


def _fork(here: shop.Shop, device: str, asked: Fork) -> Response:
    name = here.access.fork(device, asked.device, asked.token, shop.now())
    # What the copy could not hand in comes again from the new device; the first phone's is noted anew.
    here.ledger.forget_refusals(device)
    return JSONResponse({"name": name})


def _taken(here: shop.Shop, batch: Batch, now: int) -> tuple[list[str], list[Refusal]]:
    """Raises Refused when this phone has written too much of late."""
    if not batch.records:
        return [], []
    here.quota.insist(batch.device, now)
    before, _ = here.ledger.head(batch.device)
    taken = here.ledger.take(batch.device, batch.records, now)
    after, _ = here.ledger.head(batch.device)
    size = sum(map(len, batch.records)) / len(batch.records)
    here.quota.count(batch.device, after - before, size, now)
    return taken


def _merge(here: shop.Shop, batch: Batch) -> Response:
    ledger, now = here.ledger, shop.now()
    is_same = batch.epoch == here.store.epoch
    known = (batch.acked, batch.cursor, batch.mark or "")
    behind = put_back.judge(here, batch.device, *known) if is_same else Behind.NO
    if behind is Behind.PROVEN:
        put_back.begin_anew(here, batch.device, now)
        observe.LOG.warning("put back")
    asked_back = ledger.asked_back(batch.device)  # before what comes now, whose photos come by themselves
    taken, refused = _taken(here, batch, now)
    # A cursor of another epoch counts another store's records: start again.
    start = batch.cursor if is_same and behind is Behind.NO else 0
    records, cursor, more = ledger.since(start, batch.device, batch.room)
    here.photos.erase_gone()
    news: dict[str, Any] = {
        "behind": behind is not Behind.NO,
        "asked_back": asked_back,
        "gone": ledger.gone(start, cursor),
        "taken": taken,
        "refused": refused,
        "gaps": ledger.gaps(),
        **_ahead_of(ledger, batch, refused),
        **_signed(here, batch, now),
    }
    contradicted = ledger.contradicted(start, cursor)
    if contradicted:
        news["contradicted"] = contradicted
    always = {"epoch": here.store.epoch, "time": now, "cursor": cursor}
    if batch.mark is not None:
        always["mark"] = put_back.mark(here, cursor)
    if not batch.short:
        wanted = ledger.wanted(batch.device)
        return JSONResponse({**always, "more": more, "records": records, "photos_wanted": wanted, **news})
    news = {name: value for name, value in news.items() if value}
    if taken and not refused:
        news["taken"] = "all"  # ids pack badly, and the phone knows what it sent
    if records:
        news |= {"more": more, "records": shortened(records)}
    is_news = news or cursor != start or not is_same or always.get("mark") != batch.mark
    return JSONResponse({**always, **news}) if is_news else Response(status_code=204)


def shortened(texts: list[str]) -> list[str | list[str | int]]:
    """Texts without the hashes that their receiver can make itself, which are half of what they pack to.

    A text that carries the hash of one before it in the list becomes what stands before that hash, what
    stands behind it, and how many places back the other text is.
    """
    places: dict[str, int] = {}
    short: list[str | list[str | int]] = []
    for place, text in enumerate(texts):
        found = PREV.search(text)
        before = places.get(found[1]) if found else None
        if found is None or before is None:
            short.append(text)
        else:
            short.append([text[: found.start(1)], text[found.end(1) :], place - before])
        places[digest(text)] = place
    return short


def _ahead_of(ledger: Ledger, batch: Batch, refused: list[Refusal]) -> dict[str, Any]:
    """Where the phone's chain ends here, if that cannot be the chain that the phone goes on with.

    Then it was restored from a backup (pwa/app/record/forked.py judges that), or somebody altered an entry.
    """
    seq, head = ledger.head(batch.device)
    is_behind = batch.seq is not None and batch.seq < seq
    if is_behind or any(refusal["error"] == "altered" for refusal in refused):
        return {"here": {"seq": seq, "head": head}}
    return {}


def _signed(here: shop.Shop, batch: Batch, now: int) -> dict[str, Any]:
    """The shop's countersignature to the head that the phone signed, or why there is none."""
    if batch.signed is None:
        return {}
    try:
        given = SignedHead.model_validate(batch.signed)
        head = Head(batch.device, given.seq, given.head, given.time)
        kept = here.heads.take(head, given.key, given.signature, now)
    except ValidationError:
        return _not_signed(here, batch.device, NotSigned("malformed", heads.MALFORMED), now)
    except NotSigned as error:
        return _not_signed(here, batch.device, error, now)
    here.heads.note(batch.device, "", now)
    return {"signed": {**kept, "shop_spki": here.key.spki}}


def _not_signed(here: shop.Shop, device: str, error: NotSigned, now: int) -> dict[str, Any]:
    if error.reason != "not_here":  # which the next sync mends
        here.heads.note(device, error.message, now)
    return {"unsigned": {"error": error.reason, "message": error.message}}
