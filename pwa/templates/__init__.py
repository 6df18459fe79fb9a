"""The templates of phone, desk and handbook, and the one Jinja2 environment that renders them."""

from pathlib import Path

import jinja2

ROOT = Path(__file__).parent


def environment() -> jinja2.Environment:
    """Jinja2 as the desk runs it; the phone's runtime is held to the same bytes."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(ROOT),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
