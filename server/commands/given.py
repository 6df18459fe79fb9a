"""What a command is given to read; each thing that cannot be read is a ValueError of one sentence."""

import json
import sys
from pathlib import Path
from typing import Any


def json_of(path: Path) -> Any:
    """The content of a JSON file.

    Raises:
        ValueError: it cannot be opened, or is no JSON.
    """
    try:
        return json.loads(path.read_text("utf-8"))
    except OSError as error:
        raise ValueError(f"{path}: {error.strerror}") from None
    except (ValueError, RecursionError) as error:
        raise ValueError(f"{path} is not JSON: {error}") from None


def standard_input() -> str:
    """All that standard input has.

    Raises:
        ValueError: there is none, or it is no text.
    """
    if sys.stdin is None:  # closed by who started us
        raise ValueError("There is no standard input to read.")
    try:
        return sys.stdin.read()
    except OSError as error:
        raise ValueError(f"Standard input cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ValueError("Standard input is not text in UTF-8.") from None
