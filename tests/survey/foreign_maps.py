"""Map files from other writers: GDAL, pyshp, ezdxf and the standards' own example texts, all of one invented yard."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import pyproj
import shapefile
import shapely

from terrain.grid import Array

# Nine shots about a field corner, longitude, latitude (WGS 84, seven decimals) and metres.
LONLAT = np.array([(-93.0900123 + 1e-4 * i, 44.9500077 + 8e-5 * j) for j in range(3) for i in range(3)]).round(7)
HEIGHTS = 250.0 + 0.05 * np.arange(9)
RING = [
    (-93.0900123, 44.9500077),
    (-93.0898123, 44.9500077),
    (-93.0898123, 44.9501677),
    (-93.0900123, 44.9501677),
    (-93.0900123, 44.9500077),
]
TRACK = "".join(f'<trkpt lat="{b}" lon="{a}"/>' for a, b in RING)


def projected(system: object) -> Array:
    return np.column_stack(pyproj.Transformer.from_crs(4326, system, always_xy=True).transform(*LONLAT.T))


def by_gdal(path: Path, driver: str, crs: str, places: Array, **more: Any) -> None:
    """Points with a name, a code and an elevation, as GDAL writes them."""
    fields = {"name": np.array([f"S{k}" for k in range(9)], dtype=object), "code": np.array(["lawn"] * 9, dtype=object)}
    if driver != "GPX":
        fields["elevation"] = HEIGHTS
    else:
        # The first five of the format's own, in its order: older pyogrio counts them instead of naming them.
        when, none = np.full(9, "2026-05-04T09:00", dtype="datetime64[ms]"), np.zeros(9)
        fields = {"ele": HEIGHTS, "time": when, "magvar": none, "geoidheight": none, "name": fields["name"]}
    shapes = shapely.points(places)
    pyogrio.raw.write(
        path,
        shapely.to_wkb(shapes),
        list(fields.values()),
        list(fields),
        driver=driver,
        geometry_type="Point",
        crs=crs,
        **more,
    )


def area_by_gdal(path: Path, driver: str, crs: str, ring: list[tuple[float, float]], **more: Any) -> None:
    pyogrio.raw.write(
        path,
        shapely.to_wkb([shapely.Polygon(ring)]),
        [np.array(["bed"], dtype=object)],
        ["name"],
        driver=driver,
        geometry_type="Polygon",
        crs=crs,
        **more,
    )


KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>Shots</name>{marks}</Folder></Document></kml>"""
MARK = (
    "<Placemark><name>S{k}</name><ExtendedData><Data name='code'><value>lawn</value></Data><Data name='elevation'>"
    "<value>{z} m</value></Data></ExtendedData><Point><coordinates>{lon},{lat},0</coordinates></Point></Placemark>"
)
# The form of OGC 12-007r2, 10.8 (Polygon), and of the example of GPX 1.1 (waypoints, a track); places of our own.
KML_AREA = """<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>bed</name><Polygon><extrude>1</extrude>
<outerBoundaryIs><LinearRing><coordinates>
  {ring}
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>"""
GPX = """<?xml version="1.0"?><gpx version="1.1" creator="somebody" xmlns="http://www.topografix.com/GPX/1/1">
{marks}<trk><name>round the bed</name><trkseg>{track}</trkseg></trk></gpx>"""


def kml_points() -> str:
    rows = zip(LONLAT, HEIGHTS, strict=True)
    return KML.format(marks="".join(MARK.format(k=k, lon=a, lat=b, z=z) for k, ((a, b), z) in enumerate(rows)))


def gpx_text() -> str:
    marks = "".join(
        f'<wpt lat="{b}" lon="{a}"><ele>{z}</ele><name>S{k}</name><desc>lawn</desc></wpt>'
        for k, ((a, b), z) in enumerate(zip(LONLAT, HEIGHTS, strict=True))
    )
    return GPX.format(marks=marks, track=TRACK)


def geojson_text(crs: str) -> str:
    """The form of RFC 7946, appendix A, and of the format of 2008 where it names a system."""
    features = ", ".join(
        f'{{"type": "Feature", "properties": {{"name": "S{k}", "code": "lawn"}}, "geometry": '
        f'{{"type": "Point", "coordinates": [{a}, {b}, {z}]}}}}'
        for k, ((a, b), z) in enumerate(zip(LONLAT, HEIGHTS, strict=True))
    )
    named = f'"crs": {{"type": "name", "properties": {{"name": "{crs}"}}}}, ' if crs else ""
    return f'{{"type": "FeatureCollection", {named}"features": [{features}]}}'


def by_pyshp(path: Path) -> None:
    """Points with heights, and their system beside them."""
    utm = projected(26915)
    with shapefile.Writer(str(path), shapeType=shapefile.POINTZ) as writer:
        writer.field("NAME", "C")
        writer.field("CODE", "C")
        for k, ((x, y), z) in enumerate(zip(utm, HEIGHTS, strict=True)):
            writer.pointz(float(x), float(y), float(z))
            writer.record(f"S{k}", "lawn")
    path.with_suffix(".prj").write_text(pyproj.CRS(26915).to_wkt("WKT1_ESRI"), encoding="utf-8")


def zipped(path: Path, text: str) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("doc.kml", text)


@dataclass(frozen=True)
class ForeignMap:
    """A file of the nine shots, or of the ring: how it is written, and how far its places may be off, metres."""

    name: str
    write: Callable[[Path], None]
    off: float = 0.012  # of seven decimals; what is written in doubles is held to 1 mm


def _gdal(driver: str, crs: str, system: object = 4326, **more: Any) -> Callable[[Path], None]:
    return lambda path: by_gdal(path, driver, crs, projected(system), **more)


def _text(words: str) -> Callable[[Path], None]:
    return lambda path: path.write_text(words, encoding="utf-8") and None


LOCAL_TM = "+proj=tmerc +lat_0=44 +lon_0=-93 +k=1 +x_0=10000 +y_0=0 +ellps=GRS80 +units=us-ft +type=crs"
POINTS = (
    ForeignMap("gdal.geojson", _gdal("GeoJSON", "EPSG:4326", RFC7946="YES")),
    ForeignMap("gdal-old.geojson", _gdal("GeoJSON", "EPSG:26915", 26915)),
    ForeignMap("rfc.geojson", _text(geojson_text(""))),
    ForeignMap("crs84.geojson", _text(geojson_text("urn:ogc:def:crs:OGC:1.3:CRS84"))),
    ForeignMap("gdal.kml", _gdal("KML", "EPSG:4326")),
    ForeignMap("hand.kml", _text(kml_points())),
    ForeignMap("hand.kmz", lambda path: zipped(path, kml_points())),
    ForeignMap("gdal.gpx", _gdal("GPX", "EPSG:4326", layer="waypoints")),
    ForeignMap("hand.gpx", _text(gpx_text())),
    ForeignMap("wgs84.gpkg", _gdal("GPKG", "EPSG:4326"), 0.001),
    ForeignMap("utm.gpkg", _gdal("GPKG", "EPSG:26915", 26915), 0.001),
    ForeignMap("state-plane.gpkg", _gdal("GPKG", "EPSG:26993", 26993), 0.001),
    ForeignMap("own-system.gpkg", _gdal("GPKG", pyproj.CRS(LOCAL_TM).to_wkt(), LOCAL_TM), 0.001),
    ForeignMap("wgs84.shp", _gdal("ESRI Shapefile", "EPSG:4326"), 0.001),
    ForeignMap("utm.shp", _gdal("ESRI Shapefile", "EPSG:26915", 26915), 0.001),
    ForeignMap("survey-feet.shp", _gdal("ESRI Shapefile", LOCAL_TM, LOCAL_TM), 0.001),
    ForeignMap("pyshp.shp", by_pyshp, 0.001),
)
AREAS = (
    ForeignMap("gdal-area.geojson", lambda path: area_by_gdal(path, "GeoJSON", "EPSG:4326", RING)),
    ForeignMap("gdal-area.kml", lambda path: area_by_gdal(path, "KML", "EPSG:4326", RING)),
    ForeignMap("ogc-area.kml", _text(KML_AREA.format(ring="\n  ".join(f"{a},{b},17" for a, b in RING)))),
    ForeignMap("walked.gpx", _text(GPX.format(marks="", track=TRACK))),
    ForeignMap("area.gpkg", lambda path: area_by_gdal(path, "GPKG", "EPSG:4326", RING)),
    ForeignMap("area.shp", lambda path: area_by_gdal(path, "ESRI Shapefile", "EPSG:4326", RING)),
)
