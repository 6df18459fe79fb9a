"""What form a log has, seen from its first lines."""

from typing import TYPE_CHECKING, TypedDict

from pwa.engine.logs import candump, clock, text_frames
from pwa.engine.logs.damage import printable

if TYPE_CHECKING:
    from collections.abc import Callable

ENOUGH = 60  # lines that show what a log is
# The surest first; None is any run of blanks.
DELIMITERS: "tuple[bytes | None, ...]" = (b"\t", b";", b"|", b",", None)
EMPTY = (b"", b"-", b"--", b"---", b"n/a", b"N/A", b"NA", b"na", b"null", b"NULL", b"None", b"*", b"?")
UNITS = (
    "s", "ms", "us", "µs", "sec", "min", "h", "%", "rpm", "1/min", "u/min", "r/min", "min-1", "kpa", "bar",
    "mbar", "hpa", "psi", "inhg", "c", "°c", "degc", "f", "°f", "degf", "k", "v", "mv", "a", "ma", "kg/h",
    "g/s", "km/h", "mph", "nm", "n·m", "lb·ft", "deg", "°", "-", "hh:mm:ss", "hh:mm:ss.ms", "g/min", "l/h",
)  # fmt: skip


class Table(TypedDict):
    """How a table is written. `delimiter` None is blanks; `skip` lines stand before the first row."""

    delimiter: "bytes | None"
    comma: bool  # decimals behind a comma
    names: "list[str]"
    units: "list[str]"
    kinds: "list[str]"  # of each column: "number", "clock" or "text"
    skip: int


def form(lines: "list[bytes]") -> str:
    """ "candump", "candump console", "asc", "can csv" or "table"."""
    tests: list[tuple[str, Callable[[bytes], object]]] = [
        ("candump", candump.file_frame),
        ("candump console", candump.console_frame),
        ("can csv", text_frames.csv_frame),
        ("asc", text_frames.Asc().frame),
    ]
    if lines and lines[0].startswith(text_frames.CSV_HEAD):
        return "can csv"
    best, most = "table", 0
    for name, parse in tests:
        hits = sum([1 for line in lines if _is_frame(parse, line)])
        if hits > most and 2 * hits >= len([line for line in lines if line.strip()]) - 10:
            best, most = name, hits
    return best


def table(lines: "list[bytes]") -> Table:
    """How the table in these lines is written.

    Raises:
        ValueError: no rows of numbers are in it.
    """
    best: tuple[int, int] = (0, 0)
    delimiter: bytes | None = None
    for candidate in DELIMITERS:
        score, width = _score(lines, candidate)
        if score > best[0]:
            best, delimiter = (score, width), candidate
    if not best[0]:
        raise ValueError(
            "No rows of numbers are found in this file. Save it as text: as CSV, or as candump writes frames."
        )
    return _described(lines, delimiter, best[1])


def cells(line: bytes, delimiter: "bytes | None") -> "list[bytes]":
    """The cells of a line, each without blanks and quotes around it."""
    if b'"' in line and delimiter is not None:
        return _quoted(line, delimiter)
    return [cell.strip() for cell in line.split(delimiter)]


def number(cell: bytes) -> "float | None":
    """A cell with point or comma before its decimals; None if it is no number."""
    try:
        return float(cell.replace(b",", b".")) if b"_" not in cell else None
    except ValueError:
        return None


def _is_frame(parse: "Callable[[bytes], object]", line: bytes) -> bool:
    try:
        return parse(line) is not None
    except (ValueError, IndexError):
        return False


def _quoted(line: bytes, delimiter: bytes) -> "list[bytes]":
    """Cells of a line in which some stand in quotes, so that the delimiter may be in them."""
    found: list[bytes] = []
    for index, part in enumerate(line.split(b'"')):
        if index % 2:
            found[-1] += part
        else:
            pieces = part.split(delimiter)
            found = found[:-1] + [found[-1] + pieces[0]] + pieces[1:] if found else pieces
    return [cell.strip() for cell in found]


def _kind(cell: bytes) -> str:
    if cell in EMPTY:
        return "empty"
    if number(cell) is not None:
        return "number"
    try:
        clock.seconds(cell)
        return "clock"
    except ValueError:
        return "text"


def _score(lines: "list[bytes]", delimiter: "bytes | None") -> "tuple[int, int]":
    """How well a delimiter fits, and how many cells a row has with it: numbers speak for it, text against."""
    widths: dict[int, int] = {}
    for line in lines:
        kinds = [_kind(cell) for cell in cells(line, delimiter)]
        numbers = len([kind for kind in kinds if kind in ("number", "clock")])
        if numbers and len(kinds) > 1:
            worth = numbers - len([kind for kind in kinds if kind == "text"])
            widths[len(kinds)] = widths.get(len(kinds), 0) + worth
    best = max([(worth, width) for width, worth in widths.items()] or [(0, 0)])
    return best if best[0] > 0 else (0, 0)


def _described(lines: "list[bytes]", delimiter: "bytes | None", width: int) -> Table:
    split = [cells(line, delimiter) for line in lines]
    rows = [index for index, found in enumerate(split) if len(found) == width and _is_row(found)]
    first = rows[0]
    columns = [[split[row][place] for row in rows] for place in range(width)]
    commas = sum([1 for row in rows for cell in split[row] if b"," in cell and number(cell) is not None])
    points = sum([1 for row in rows for cell in split[row] if b"." in cell and number(cell) is not None])
    heads = [row for row in split[:first] if len(row) in (width, width - 1) and row != [b""]]
    names, units = _heads([[printable(cell) for cell in row] for row in heads[-2:]], width)
    return {
        "delimiter": delimiter,
        "comma": delimiter != b"," and commas > points,
        "names": names,
        "units": units,
        "kinds": [_column_kind(column) for column in columns],
        "skip": first,
    }


def _is_row(found: "list[bytes]") -> bool:
    kinds = [_kind(cell) for cell in found]
    numbers = len([kind for kind in kinds if kind in ("number", "clock")])
    return numbers > 0 and numbers >= len([kind for kind in kinds if kind == "text"])


def _column_kind(column: "list[bytes]") -> str:
    kinds = [_kind(cell) for cell in column]
    for kind in ("number", "clock"):
        if kind in kinds and 2 * kinds.count(kind) >= len(kinds) - kinds.count("empty"):
            return kind
    return "text"


def _heads(heads: "list[list[str]]", width: int) -> "tuple[list[str], list[str]]":
    """Names and units: of the last line before the rows, or of the two last if the second has units."""
    below = heads[-1] if heads else []
    units = [""] * width
    if len(heads) == 2 and below and all(_is_unit(cell) for cell in below):
        units = [_bare(cell) for cell in below]
        below = heads[0]
    elif below and all(_is_unit(cell) for cell in below) and any(_bare(cell) for cell in below):
        units, below = [_bare(cell) for cell in below], []
    names = (below + [""] * width)[:width]
    units = (units + [""] * width)[:width]
    for place, name in enumerate(names):
        inside = _unit_in(name)
        units[place] = units[place] or inside
        name = name or f"column {place + 1}"
        names[place] = name if name not in names[:place] else f"{name} ({place + 1})"
    return names, units


def _is_unit(cell: str) -> bool:
    return not cell or _bare(cell).lower() in UNITS or cell[0] + cell[-1] in ("[]", "()")


def _bare(cell: str) -> str:
    return cell.strip("[]() ")


def _unit_in(name: str) -> str:
    """The unit in a name: "Boost (kPa)", "VGT [%]", "boost_kpa"."""
    for opening, closing in (("[", "]"), ("(", ")")):
        start, end = name.rfind(opening), name.rfind(closing)
        if 0 <= start < end:
            return name[start + 1 : end].strip()
    last = name.replace("_", " ").split()
    return last[-1] if len(last) > 1 and len(last[-1]) > 1 and last[-1].lower() in UNITS else ""
