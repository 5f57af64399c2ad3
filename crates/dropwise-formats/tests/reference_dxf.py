"""Writes DXF drawings with the ezdxf library, in several versions of the format, and prints what a reader should find.

Usage: reference_dxf.py FOLDER

Standard output is a list of files in JSON; each has parts by layer, with area, length and bounding box in millimetres as
the library computes them from its own flattened paths, or in closed form where `exact` is true.
"""

import json
import math
import sys

import ezdxf
from ezdxf.disassemble import recursive_decompose
from ezdxf.math import Vec2, area, closed_uniform_bspline

VERSIONS = ["R12", "R2000", "R2007", "R2010", "R2018"]
FLATTENING = 1e-4


def points_on(entity):
    """Points on an entity as the library flattens it. Its general paths are not used: they replace arcs by Bezier curves,
    which miss the radius by up to 0.03 percent."""
    kind = entity.dxftype()
    if kind in ("LWPOLYLINE", "POLYLINE"):
        points = []
        for side in entity.virtual_entities():
            run = Vec2.list([side.dxf.start, side.dxf.end] if side.dxftype() == "LINE" else side.flattening(FLATTENING))
            if points and not points[-1].isclose(run[0], abs_tol=1e-9):
                run.reverse()
            elif not points and side.dxftype() == "ARC" and not run[0].isclose(first_vertex(entity), abs_tol=1e-9):
                run.reverse()
            points += run
        return points
    return Vec2.list(entity.flattening(FLATTENING))


def first_vertex(polyline):
    if polyline.dxftype() == "LWPOLYLINE":
        return Vec2(next(polyline.vertices_in_wcs()))
    return Vec2(polyline.points_in_wcs().__next__())


def measured(layer, entities, scale):
    """One part for each entity that closes by itself; blocks are taken apart by the library."""
    return [ring(layer, points_on(entity), scale) for entity in recursive_decompose(entities)]


def ring(layer, points, scale, exact=False):
    if not points[0].isclose(points[-1]):
        points = points + points[:1]
    length = sum(a.distance(b) for a, b in zip(points, points[1:]))
    xs, ys = [p.x for p in points], [p.y for p in points]
    return {
        "layer": layer,
        "area": area(points) * scale**2,
        "length": length * scale,
        "bounds": [value * scale for value in (min(xs), min(ys), max(xs), max(ys))],
        "exact": exact,
    }


def closed_form(layer, area, length, bounds, scale):
    return {
        "layer": layer,
        "area": area * scale**2,
        "length": length * scale,
        "bounds": [value * scale for value in bounds],
        "exact": True,
    }


def draw(version, unit_code, scale):
    """A document with every supported entity, one kind to a layer, and the parts that should be read from it."""
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = unit_code
    space = document.modelspace()
    parts = []

    # A 40 x 20 slot of lines and arcs, out of order and partly reversed: 20 x 20 square and a circle of radius 10.
    on = {"layer": "CUT_LOOSE"}
    space.add_line((10, 20), (30, 20), dxfattribs=on)
    space.add_arc((10, 10), 10, 90, 270, dxfattribs=on)
    space.add_line((10, 0), (30, 0), dxfattribs=on)
    space.add_arc((30, 10), 10, 270, 90, dxfattribs=on)
    parts.append(closed_form("CUT_LOOSE", 400 + 100 * math.pi, 40 + 20 * math.pi, (0, 0, 40, 20), scale))

    on = {"layer": "CUT_CIRCLE"}
    space.add_circle((-100, 50), 12.5, dxfattribs=on)
    parts.append(closed_form("CUT_CIRCLE", 156.25 * math.pi, 25 * math.pi, (-112.5, 37.5, -87.5, 62.5), scale))

    on = {"layer": "CUT_POLYLINE"}
    entity = space.add_polyline2d(
        [(100, 0, 0.0), (150, 0, 0.5), (150, 30, -0.3), (100, 30, 1.0)], format="xyb", close=True, dxfattribs=on
    )
    parts += measured("CUT_POLYLINE", [entity], scale)

    on = {"layer": "CUT_3D"}
    entity = space.add_polyline3d([(0, 200, 0), (30, 200, 0), (40, 240, 0)], close=True, dxfattribs=on)
    parts += measured("CUT_3D", [entity], scale)

    block = document.blocks.new("PLATE", base_point=(5, 5))
    block.add_polyline2d([(0, 0), (10, 0, ), (10, 6), (0, 6)], close=True, dxfattribs={"layer": "0"})
    outer = document.blocks.new("TWO_PLATES", base_point=(1, -2))
    outer.add_blockref("PLATE", (20, 0), dxfattribs={"layer": "0", "rotation": 30})
    outer.add_blockref("PLATE", (40, 10), dxfattribs={"layer": "0", "xscale": -2, "yscale": 2, "rotation": 75})

    on = {"layer": "CUT_INSERT", "xscale": 1.5, "yscale": 1.5, "rotation": -20}
    parts += measured("CUT_INSERT", [space.add_blockref("TWO_PLATES", (300, 50), dxfattribs=on)], scale)

    on = {"layer": "CUT_ARRAY", "rotation": 15, "column_count": 3, "row_count": 2, "column_spacing": 25, "row_spacing": 18}
    array = space.add_blockref("PLATE", (400, 200), dxfattribs=on)
    parts += measured("CUT_ARRAY", list(array.multi_insert()), scale)

    round_block = document.blocks.new("ROUND")
    round_block.add_circle((0, 0), 10, dxfattribs={"layer": "0"})
    on = {"layer": "CUT_STRETCHED", "xscale": 3, "yscale": 1, "rotation": 40}
    space.add_blockref("ROUND", (0, -200), dxfattribs=on)
    # An ellipse of half axes 30 and 10, turned; its box from sqrt(a² cos² + b² sin²).
    turn = math.radians(40)
    x = math.hypot(30 * math.cos(turn), 10 * math.sin(turn))
    y = math.hypot(30 * math.sin(turn), 10 * math.cos(turn))
    stretched = closed_form("CUT_STRETCHED", 300 * math.pi, 0, (-x, -200 - y, x, -200 + y), scale)
    stretched["length"] = None
    stretched["exact"] = False
    parts.append(stretched)

    # Drawn from below: x runs the other way.
    on = {"layer": "CUT_BELOW", "extrusion": (0, 0, -1)}
    entities = [
        space.add_circle((500, 20), 7, dxfattribs=on),
        space.add_polyline2d([(520, 0, 0.4), (560, 0, 0), (540, 25, 0)], format="xyb", close=True, dxfattribs=on),
        space.add_blockref("TWO_PLATES", (600, 0), dxfattribs={**on, "rotation": 25}),
    ]
    parts += measured("CUT_BELOW", entities, scale)

    if version != "R12":
        on = {"layer": "CUT_LIGHT"}
        entity = space.add_lwpolyline(
            [(0, 300, 0.2), (60, 300, 0), (60, 340, -0.6), (20, 350, 0.1)], format="xyb", close=True, dxfattribs=on
        )
        parts += measured("CUT_LIGHT", [entity], scale)

        on = {"layer": "CUT_LIGHT_BELOW", "extrusion": (0, 0, -1)}
        entity = space.add_lwpolyline(
            [(0, 400, 0.2), (60, 400, 0), (60, 440, -0.6), (20, 450, 0.1)], format="xyb", close=True, dxfattribs=on
        )
        parts += measured("CUT_LIGHT_BELOW", [entity], scale)

        on = {"layer": "CUT_ELLIPSE"}
        entity = space.add_ellipse((200, 300), major_axis=(30, 12), ratio=0.4, dxfattribs=on)
        parts += measured("CUT_ELLIPSE", [entity], scale)

        # Half an ellipse and the line across it.
        on = {"layer": "CUT_HALF"}
        half = space.add_ellipse(
            (200, 400), major_axis=(40, 0), ratio=0.5, start_param=0.3, end_param=2.9, dxfattribs=on
        )
        space.add_line(half.end_point, half.start_point, dxfattribs=on)
        parts.append(ring("CUT_HALF", points_on(half), scale))

        on = {"layer": "CUT_HALF_BELOW", "extrusion": (0, 0, -1)}
        half = space.add_ellipse(
            (300, 400), major_axis=(40, 0), ratio=0.5, start_param=0.3, end_param=2.9, dxfattribs=on
        )
        space.add_line(half.end_point, half.start_point, dxfattribs={"layer": "CUT_HALF_BELOW"})
        parts.append(ring("CUT_HALF_BELOW", points_on(half), scale))

        on = {"layer": "CUT_SPLINE"}
        closed = [(0, 500), (20, 490), (50, 500), (60, 530), (30, 550), (-10, 530)]
        curve = closed_uniform_bspline(closed, order=4)
        space.add_spline(dxfattribs=on).apply_construction_tool(curve)
        # The library flattens over all knots; the curve runs only from the fourth to the fourth from the end.
        knots = curve.knots()
        start, span = knots[3], knots[-4] - knots[3]
        points = Vec2.list(curve.point(start + span * i / 6000) for i in range(6001))
        parts.append(ring("CUT_SPLINE", points, scale))

        on = {"layer": "CUT_RATIONAL"}
        entity = space.add_rational_spline(
            [(200, 500), (220, 560), (260, 560), (280, 520), (300, 500)], weights=[1, 2, 0.5, 3, 1], dxfattribs=on
        )
        space.add_line((300, 500), (200, 500), dxfattribs=on)
        parts.append(ring("CUT_RATIONAL", points_on(entity), scale))

    # What should be left out or kept apart.
    space.add_text("TITLE", dxfattribs={"layer": "CUT_CIRCLE", "insert": (-500, -500)})
    space.add_text("washer", dxfattribs={"layer": "TEXT", "insert": (-100, 50)})
    space.add_point((1, 1), dxfattribs={"layer": "CUT_CIRCLE"})
    document.layers.add("CUT_OFF").off()
    space.add_line((0, 0), (500, 0), dxfattribs={"layer": "CUT_OFF"})
    document.layers.add("CUT_FROZEN").freeze()
    space.add_line((0, 0), (500, 0), dxfattribs={"layer": "CUT_FROZEN"})
    space.add_line((-110, 50), (-90, 50), dxfattribs={"layer": "BEND"})
    if version != "R12":
        document.layout("Layout1").add_line((0, 0), (9, 9), dxfattribs={"layer": "CUT_CIRCLE"})
        space.add_linear_dim(base=(0, -30), p1=(0, 0), p2=(40, 0)).render()
        hatch = space.add_hatch(dxfattribs={"layer": "CUT_CIRCLE"})
        hatch.paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
    return document, parts


def main(folder):
    files = []
    for version in VERSIONS:
        for unit_name, unit_code, scale in [("mm", 4, 1.0), ("in", 1, 25.4)]:
            for form in ["asc", "bin"]:
                document, parts = draw(version, unit_code, scale)
                name = f"{version}_{unit_name}_{form}.dxf"
                document.saveas(f"{folder}/{name}", fmt=form)
                files.append({"file": name, "version": version, "unit": unit_name, "parts": parts})
    json.dump(files, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
