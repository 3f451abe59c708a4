"""One solid as a 3MF package, millimetres: the core of the 3MF specification 1.4 (3MF Consortium) alone."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

import numpy as np

from terrain.files.bodies import Body
from terrain.files.stage_grades import Grade

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL = "3D/3dmodel.model"
_TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""
_RELATIONS = f"""<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/{_MODEL}" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""
_WRITTEN = (1980, 1, 1, 0, 0, 0)  # the same bytes on every day


def bytes_3mf(body: Body, grade: Grade = "finished") -> bytes:
    """The package of one closed body in millimetres, with the grade that it shows in its description."""
    vertices = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in body.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in body.faces.tolist())
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">'
        f'<metadata name="Description">{grade} grade</metadata>'
        f'<resources><object id="1" type="model" name={quoteattr(body.name)}><mesh><vertices>{vertices}</vertices>'
        f"<triangles>{faces}</triangles></mesh></object></resources>"
        '<build><item objectid="1"/></build></model>\n'
    )
    store = io.BytesIO()
    with zipfile.ZipFile(store, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), (_MODEL, model)):
            package.writestr(zipfile.ZipInfo(name, _WRITTEN), text, zipfile.ZIP_DEFLATED)
    return store.getvalue()


def read_3mf(path: Path) -> Mapping[str, Body]:
    """The bodies of a package by name, in its own unit. Raises `ValueError` for what is no such package."""
    try:
        with zipfile.ZipFile(path) as package:
            root = ElementTree.fromstring(package.read(_MODEL))
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError) as error:
        raise ValueError(str(error)) from error
    spaces = {"m": _CORE}
    bodies = {}
    for thing in root.iterfind(".//m:object", spaces):
        name = thing.get("name", "")
        vertices = [[float(v.get(axis, "nan")) for axis in "xyz"] for v in thing.iterfind(".//m:vertex", spaces)]
        faces = [
            [int(t.get(corner, "-1")) for corner in ("v1", "v2", "v3")] for t in thing.iterfind(".//m:triangle", spaces)
        ]
        bodies[name] = Body(name, np.array(vertices), np.array(faces, dtype=np.int64), True)
    return bodies
