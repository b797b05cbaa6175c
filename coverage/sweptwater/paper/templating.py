"""The templates of pages and sheets, and the files that are written into them."""

from functools import cache
from importlib.resources import files

import jinja2
from markupsafe import Markup


@cache
def template(name: str) -> jinja2.Template:
    """Return a template: all that goes into it is escaped, and nothing may lack."""
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.from_string(source(name))


@cache
def source(name: str) -> Markup:
    """Return a file of ours as it stands, to be written into a page."""
    path = files("sweptwater.paper") / "templates" / name
    return Markup(path.read_text(encoding="utf-8"))
