"""A folium map as pieces of a page that needs no network.

folium links Leaflet, jQuery, Bootstrap and icon fonts from elsewhere. `OfflineMap`
links nothing: it writes Leaflet itself into the page, from the package
``django-js-lib-leaflet`` (plain files; it neither needs nor imports Django).
"""

import re
from base64 import b64encode
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import folium
from branca.element import Element, Figure
from folium.template import Template
from markupsafe import Markup

from sweptwater.errors import PageError

_LEAFLET = files("js_lib_leaflet") / "static" / "js_lib_leaflet"
_CSS_IMAGE = re.compile(r"url\((images/[^)]+\.png)\)")
_SPACED = re.compile(r"(?<=[\d\]]), (?=[\d\[-])")
"""What parts numbers: the spaces would be a twelfth of a large map."""
_OUTSIDE_LINK = re.compile(
    r"""<(?:script|link|img|iframe)\b[^>]*\b(?:src|href)=["']?(?!data:)[^"'>]*"""
    r"""|\bhttps?://[^"'\s]*"""
)


@dataclass(frozen=True, slots=True)
class MapParts:
    """A map in the order of a page: for the head, the body, and after the body.

    `name` is the JavaScript variable that holds the map.
    """

    name: str
    head: Markup
    body: Markup
    script: Markup


class OfflineMap(folium.Map):
    """A folium map without base tiles that brings Leaflet along.

    GeoJSON layers and `folium.LayerControl` work on it. Whatever loads something more
    (tiles, plugins, colour maps, icon fonts) is refused. Texts from files must not be
    handed to folium, which would take ``{{`` in them for a template.

    Parameters
    ----------
    **options
        Options of Leaflet's map, in snake_case, as `folium.Map` takes them.
    """

    # folium's own header forbids to pinch the page larger and sizes the whole page.
    _template = Template("""
        {% macro html(this, kwargs) %}
        <div class="folium-map" id="{{ this.get_name() }}"></div>
        {% endmacro %}
        {% macro script(this, kwargs) %}
        var {{ this.get_name() }} = L.map(
            {{ this.get_name()|tojson }}, {{ this.options|tojavascript }}
        );
        {% endmacro %}
    """)

    def __init__(self, **options: Any) -> None:
        super().__init__(tiles=None, **options)
        self.default_js, self.default_css = [], []  # instead of links to elsewhere

    def parts(self) -> MapParts:
        """Return the map's parts, the same ones for the same map.

        Raises
        ------
        PageError
            If something on the map would load something from elsewhere.
        """
        _number(self)
        self.render()  # type: ignore[no-untyped-call]
        figure = self.get_root()
        assert isinstance(figure, Figure)  # folium.Map always makes one
        head, body, script = (
            "\n".join(child.render() for child in part._children.values())
            for part in (figure.header, figure.html, figure.script)
        )
        for text in (head, body, script):
            if link := _OUTSIDE_LINK.search(text):
                raise PageError(
                    f"the page has to work without a network and cannot use {link[0]}; "
                    "leave out the layer or plugin that asks for it"
                )
        script = _SPACED.sub(",", script)
        leaflet = Markup("<style>{}</style>\n<script>{}</script>\n").format(
            _leaflet_css(), _leaflet_js()
        )
        return MapParts(
            self.get_name(), leaflet + Markup(head), Markup(body), Markup(script)
        )


def _number(map_: OfflineMap) -> None:
    """Give the elements stable ids instead of random ones, in order of appearance."""
    elements: list[Element] = [map_]
    for number, element in enumerate(elements):
        element._id = str(number)
        elements.extend(element._children.values())  # the loop goes on into these


@cache
def _leaflet_js() -> Markup:
    source = (_LEAFLET / "leaflet.js").read_text(encoding="utf-8")
    return Markup(source.replace("//# sourceMappingURL=leaflet.js.map", ""))


@cache
def _leaflet_css() -> Markup:
    source = (_LEAFLET / "leaflet.css").read_text(encoding="utf-8")
    return Markup(_CSS_IMAGE.sub(lambda match: f"url({_data_uri(match[1])})", source))


def _data_uri(image: str) -> str:
    encoded = b64encode((_LEAFLET / image).read_bytes()).decode("ascii")
    return f"data:image/png;base64,{encoded}"
