"""The system of a drawing's coordinates, named in the drawing: in words, and by its number where it has one.

DXF reference, GEODATA: coordinates of type 2 are those of the system that its definition names; the definition is a
dictionary of the open CS-Map library, of which readers take the number and the order of axes.
"""

from __future__ import annotations

from typing import Any

from terrain.earth import Located
from terrain.files.job import Job

_PROJECTED, _NO_SCALE = 2, 1
_LETTERS = 0.15  # metres
_UNDER = 1.0  # metres under the yard that the words stand
_DEFINITION = (
    '<?xml version="1.0" encoding="UTF-16" standalone="no" ?>\n'
    '<Dictionary version="1.0" xmlns="http://www.osgeo.org/mapguide/coordinatesystem">\n'
    '<ProjectedCoordinateSystem id="{name}"><Name>{name}</Name><Axis uom="{unit}">'
    "<CoordinateSystemAxis><AxisOrder>1</AxisOrder><AxisName>Easting</AxisName>"
    "<AxisAbbreviation>E</AxisAbbreviation><AxisDirection>East</AxisDirection></CoordinateSystemAxis>"
    "<CoordinateSystemAxis><AxisOrder>2</AxisOrder><AxisName>Northing</AxisName>"
    "<AxisAbbreviation>N</AxisAbbreviation><AxisDirection>North</AxisDirection></CoordinateSystemAxis>"
    "</Axis></ProjectedCoordinateSystem>\n"
    '<Alias id="{number}" type="CoordinateSystem"><ObjectId>{name}</ObjectId>'
    "<Namespace>EPSG Code</Namespace></Alias>\n</Dictionary>"
)


def name_system(drawing: Any, job: Job, located: Located) -> None:
    """Write the system into the head of a drawing, under the yard in words, and as GEODATA where it has a number."""
    space, mesh = drawing.modelspace(), job.thin.mesh
    middle = mesh.points.mean(axis=0)
    ((lon, lat),) = located.to_earth(middle[None]).tolist()
    words = f"Coordinates: {located.name}; the middle of the yard is latitude {lat:.6f}, longitude {lon:.6f}"
    drawing.header.custom_vars.append("Coordinate system", located.name)
    drawing.header.custom_vars.append("Middle of the yard", f"latitude {lat:.7f}, longitude {lon:.7f}")
    west, south = mesh.points.min(axis=0)
    text = space.add_text(words, height=_LETTERS / job.unit, dxfattribs={"layer": "text"})
    text.set_placement((west / job.unit, (south - _UNDER) / job.unit))
    if located.system.startswith("EPSG:"):
        _add_geodata(space, job, located, middle.tolist())


def _add_geodata(space: Any, job: Job, located: Located, middle: list[float]) -> None:
    place = tuple(value / job.unit for value in (*middle, 0.0))
    geodata = space.new_geodata()
    geodata.dxf.coordinate_type = _PROJECTED
    geodata.dxf.design_point = geodata.dxf.reference_point = place
    geodata.dxf.scale_estimation_method = _NO_SCALE
    geodata.dxf.horizontal_unit_scale = geodata.dxf.vertical_unit_scale = located.metres
    geodata.dxf.horizontal_units = geodata.dxf.vertical_units = space.doc.units
    name = "EPSG-" + located.system[5:]
    unit = {1.0: "Meter", 0.3048: "Foot"}.get(located.metres, "US survey foot")
    geodata.coordinate_system_definition = _DEFINITION.format(name=name, unit=unit, number=located.system[5:])
