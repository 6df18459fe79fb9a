"""What fits a text message: the link that opens one, and text in the alphabet that every phone sends."""

UNRESERVED = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~"
# ICAO, Annex 10, volume II, 5.2.1.3: how letters are said on a bad line; figures in plain English.
SPOKEN = """
Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo
Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu zero one two three four five six seven eight nine
"""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"


# The basic alphabet (3GPP TS 23.038) lacks typographic quotes and dashes.
PLAIN = {"“": '"', "”": '"', "’": "'", "·": "-", "–": "-"}


def link(text: str) -> str:
    """An address that opens a new message with this text, whose letters must be ASCII."""
    return "sms:?body=" + "".join([mark if mark in UNRESERVED else f"%{ord(mark):02X}" for mark in text])


def plain(text: str) -> str:
    """The text in ASCII: one other letter would make a message of seventy characters out of one of 160.

    What has no likeness there goes as a question mark.
    """
    for mark, like_it in PLAIN.items():
        text = text.replace(mark, like_it)
    return "".join([mark if mark == "\n" or 31 < ord(mark) < 127 else "?" for mark in text])


def spoken(letters: str) -> str:
    """Capital letters and figures as they are said."""
    words = SPOKEN.split()
    return " ".join([words[LETTERS.index(letter)] for letter in letters])
