"""Times as people read them, computed without a clock."""

DAY = 86_400_000
# A phone's clock this far ahead of what the record's order allows is not believed (see `suspect`).
BELIEVABLE = DAY


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


def suspect(time: int, clock_ms: int) -> bool:
    """Whether a device's own time disagrees with the order of records by more than a day.

    The hybrid clock only runs ahead of a device's own clock when the device had already seen a later
    time elsewhere, so a large lead means that one of the two clocks is wrong.
    """
    return clock_ms - time > BELIEVABLE
