"""Drawings: layout (where things go) apart from painting (SVG, DXF).

`index` looks a wiring up once, `door_sheet` and `site_sheet` lay out, `svg` and `dxf` paint.
"""

from latchwork.drawing.door import door_sheet
from latchwork.drawing.index import Index, index
from latchwork.drawing.names import file_names
from latchwork.drawing.overlay import Overlay
from latchwork.drawing.sheet import Form, Sheet, Title
from latchwork.drawing.site import site_sheet
from latchwork.drawing.svg import stylesheet, svg

__all__ = [
    "Form",
    "Index",
    "Overlay",
    "Sheet",
    "Title",
    "door_sheet",
    "file_names",
    "index",
    "site_sheet",
    "stylesheet",
    "svg",
]
