"""Times as people read them, computed without a clock."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.app.protocol import Record

DAY = 86_400_000
BELIEVABLE = DAY  # a clock may be so far off before it is called suspect: zones and slow clocks


def local(ms: int, zone: int) -> str:
    """ "2026-11-25 14:07" of milliseconds since 1970, `zone` minutes ahead of UTC."""
    minutes = (ms // 60_000) + zone
    year, month, day = civil(minutes // 1440)
    return f"{year:04d}-{month:02d}-{day:02d} {minutes // 60 % 24:02d}:{minutes % 60:02d}"


def civil(days: int) -> "tuple[int, int, int]":
    """Year, month, day of days since 1970-01-01 in the proleptic Gregorian calendar.

    Source: the era method (400 years are 146,097 days), counted from 1 March so that a leap day is last.
    """
    shifted = days + 719_468
    era, day_of_era = shifted // 146_097, shifted % 146_097
    leaps = day_of_era // 1460 - day_of_era // 36_524 + day_of_era // 146_096
    year_of_era = (day_of_era - leaps) // 365
    day_of_year = day_of_era - (365 * year_of_era + year_of_era // 4 - year_of_era // 100)
    month = (5 * day_of_year + 2) // 153
    day = day_of_year - (153 * month + 2) // 5 + 1
    month = month + 3 if month < 10 else month - 9
    return year_of_era + 400 * era + (1 if month <= 2 else 0), month, day


def suspects(records: "list[Record]", now: int) -> "list[str]":
    """Ids of the records whose device's clock was off by more than a day when it wrote them, as far as shows.

    A time is ahead when it is later than the server's receipt of the record, or than `now` where that is not
    known. It is behind when the device knew a later time already: from its record before, or from its hybrid
    clock. A hybrid clock that is itself ahead was dragged there by another device, and says nothing.
    """
    found = []
    latest: dict[str, int] = {}
    for record in sorted(records, key=lambda record: (record["device"], record["seq"])):
        time, device = record["time"], record["device"]
        limit = record.get("received", now) + BELIEVABLE
        clock_ms = int(record["clock"].split(".")[0])
        known = max(latest.get(device, 0), clock_ms if clock_ms <= limit else 0)
        if time > limit or known - time > BELIEVABLE:
            found.append(record["id"])
        else:
            latest[device] = time
    return found


def off(skew: int) -> str:
    """ "3 years ahead of" for a clock that is so many ms ahead of another, "" when it is less than a day."""
    days = abs(skew) // DAY
    if days < 1:
        return ""
    count, unit = (days // 365, "year") if days >= 365 else (days, "day")
    plural = "s" if count > 1 else ""
    return f"{count} {unit}{plural} {'ahead of' if skew > 0 else 'behind'}"
