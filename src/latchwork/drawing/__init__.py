"""Drawings: layout (where things go) apart from painting (SVG, DXF).

`index.index` looks a wiring up once, `door.door_sheet` and `site.site_sheet` lay out, `svg.svg` and
`dxf.dxf` paint. Each is taken from its module: who only looks up reads nothing that draws.
"""
