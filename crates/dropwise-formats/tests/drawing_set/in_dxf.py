"""DXF drawings as CAD and vector programs export them, with what should be read from each."""

import io
import math
import random

import ezdxf
from common import *
from ezdxf.addons import r12writer

VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]


class File:
    """A document under way: entities in the document's unit, which is a millimetre times `per_mm`."""

    def __init__(self, version, units=4, per_mm=1.0):
        self.document = ezdxf.new(version, setup=["linetypes"])
        self.version = version
        if version != "R12":
            self.document.header["$INSUNITS"] = units
        self.space = self.document.modelspace()
        self.per_mm = per_mm
        self.random = random.Random(7)

    def layer(self, name, **attributes):
        if name not in self.document.layers:
            self.document.layers.add(name, **attributes)
        return name

    def loop(self, outline, space=None, **attributes):
        space = self.space if space is None else space
        points = [(x * self.per_mm, y * self.per_mm, bulge) for x, y, bulge in outline]
        if self.version == "R12":
            space.add_polyline2d([p[:2] for p in points], close=True, dxfattribs=attributes)
            for vertex, point in zip(space[-1].vertices, points):
                vertex.dxf.bulge = point[2]
        else:
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=attributes)

    def loose(self, outline, gap=0.0, **attributes):
        """Lines and arcs out of order, some turned round, ends off by `gap`."""
        sides = []
        for i, (x, y, bulge) in enumerate(outline):
            after = outline[(i + 1) % len(outline)]
            sides.append(((x, y), after[:2], bulge))
        self.random.shuffle(sides)
        for n, (a, b, bulge) in enumerate(sides):
            s = self.per_mm
            if bulge == 0:
                shift = gap if n == 0 else 0.0
                length = math.hypot(b[0] - a[0], b[1] - a[1])
                b = (b[0] - shift * (b[0] - a[0]) / length, b[1] - shift * (b[1] - a[1]) / length)
                if n % 2:
                    a, b = b, a
                self.space.add_line((a[0] * s, a[1] * s), (b[0] * s, b[1] * s), dxfattribs=attributes)
            else:
                center, radius, start, end = arc_of(a, b, bulge)
                self.space.add_arc((center[0] * s, center[1] * s), radius * s, start, end, dxfattribs=attributes)

    def hole(self, hole, space=None, **attributes):
        if isinstance(hole, tuple):
            s = self.per_mm
            (self.space if space is None else space).add_circle((hole[0] * s, hole[1] * s), hole[2] * s, dxfattribs=attributes)
        else:
            self.loop(hole, space, **attributes)

    def part(self, part, outer="0", inner="0", space=None):
        self.loop(part.outline, space, layer=self.layer(outer))
        for hole in part.holes:
            self.hole(hole, space, layer=self.layer(inner))

    def line(self, a, b, **attributes):
        s = self.per_mm
        self.space.add_line((a[0] * s, a[1] * s), (b[0] * s, b[1] * s), dxfattribs=attributes)

    def bytes(self):
        stream = io.StringIO()
        self.document.write(stream)
        return stream.getvalue().encode(self.document.output_encoding, errors="replace")


def plain(file, part):
    file.part(part)


def layered(file, part):
    file.part(part, "CUT", "HOLES")


def loose(file, part):
    file.loose(part.outline)
    for hole in part.holes:
        file.hole(hole)


def tiny_gaps(file, part):
    file.loose(part.outline, gap=0.02 if any(p[2] == 0 for p in part.outline) else 0)
    for hole in part.holes:
        file.hole(hole)


def wide_gap(file, part):
    file.loose(part.outline, gap=0.3 if any(p[2] == 0 for p in part.outline) else 0)
    for hole in part.holes:
        file.hole(hole)


def doubled(file, part):
    file.part(part)
    file.part(part)


def frame_on_its_layer(file, part):
    file.loop(rectangle(-60, -60, 297, 210), layer=file.layer("Layer 1"))
    file.part(part, "Layer 2", "Layer 2")


def frame_on_layer_0(file, part):
    file.loop(rectangle(-60, -60, 297, 210))
    file.part(part)


def title_block(file, part):
    layer = file.layer("Schriftfeld" if file.random.random() < 0.5 else "TITLE")
    file.loop(rectangle(-60, -60, 297, 210), layer=file.layer("Rahmen"))
    file.line((-60, -40), (60, -40), layer=layer)
    file.line((0, -60), (0, -40), layer=layer)
    file.space.add_text("Rev B", dxfattribs={"layer": layer}).dxf.insert = (-50, -50)
    file.part(part, "Kontur", "Bohrungen")


def title_as_block(file, part):
    block = file.document.blocks.new("TITLE_A4")
    block.add_lwpolyline([(0, 0), (180, 0), (180, 20), (0, 20)], close=True) if file.version != "R12" else None
    block.add_line((60, 0), (60, 20))
    block.add_line((0, 10), (180, 10))
    file.space.add_blockref("TITLE_A4", (-20, -40))
    file.part(part)


def centre_line_across(file, part):
    """An axis that ends on the edges: left out, and asked about."""
    file.part(part)
    xs, ys = [x for x, _, _ in part.outline], [y for _, y, _ in part.outline]
    middle = (min(xs) + max(xs)) / 2
    file.line((middle, min(ys)), (middle, max(ys)), linetype="CENTER")


def dimensions(file, part):
    file.part(part)
    file.space.add_linear_dim(base=(0, -12), p1=(0, 0), p2=(50, 0)).render()
    file.space.add_text("1.5 mm").dxf.insert = (5, 5)
    if file.version != "R12":
        file.space.add_mtext("sheet\\P2 off").dxf.insert = (5, 9)
        file.space.add_hatch(color=2).paths.add_polyline_path([(0, -30), (9, -30), (9, -20)], is_closed=True)
    file.line((-5, -12), (-5, 3), layer=file.layer("Cotes"))


def holes_on_center_layers(file, part):
    file.part(part, "CUT", "CENTER_HOLE")


def outline_on_frame_layer(file, part):
    file.part(part, "frame", "holes")


def construction(file, part):
    file.part(part, "OUTLINE", "OUTLINE")
    file.line((-10, 5), (150, 5), layer=file.layer("const1"))
    file.line((10, -10), (10, 90), layer=file.layer("Hilfslinien"))


def centre_lines(file, part):
    file.part(part)
    for hole in part.holes:
        if isinstance(hole, tuple):
            x, y, r = hole
            file.line((x - 1.5 * r, y), (x + 1.5 * r, y), linetype="CENTER")
            file.line((x, y - 1.5 * r), (x, y + 1.5 * r), linetype="CENTER2")


def centre_by_layer(file, part):
    file.part(part)
    layer = file.layer("Layer9", linetype="CENTER")
    file.line((-5, 30), (130, 30), layer=layer)


def blocks(file, part):
    inner = file.document.blocks.new("INNER")
    file.part(part, space=inner)
    outer = file.document.blocks.new("OUTER")
    outer.add_blockref("INNER", (10, 20), dxfattribs={"rotation": 90})
    file.space.add_blockref("OUTER", (200, 50), dxfattribs={"xscale": -1, "layer": file.layer("PART")})


def mirrored(file, part):
    block = file.document.blocks.new("WING")
    file.part(part, space=block)
    file.space.add_blockref("WING", (0, 0))
    file.space.add_blockref("WING", (-20, 0), dxfattribs={"xscale": -1})


def hidden_layers(file, part):
    file.part(part)
    file.loop(rectangle(5, 5, 9, 9), layer=file.layer("old"))
    file.document.layers.get("old").off()
    file.loop(rectangle(7, 7, 9, 9), layer=file.layer("older"))
    file.document.layers.get("older").freeze()


def paper(file, part):
    file.part(part)
    file.document.layout("Layout1").add_line((0, 0), (297, 0))


def far_away(file, part):
    file.part(part.moved(45000, -32000))


def flat_pattern(file, part):
    file.loop(part.outline, layer=file.layer("IV_OUTER_PROFILE"))
    for hole in part.holes:
        file.hole(hole, layer=file.layer("IV_INTERIOR_PROFILES"))
    file.line((2, 18), (28, 18), layer=file.layer("IV_BEND"))
    file.line((2, 16), (28, 16), layer=file.layer("IV_TANGENT"))
    file.line((2, 20), (28, 20), layer=file.layer("IV_TANGENT"))


def coloured_engraving(file, part):
    file.part(part)
    file.line((3, 30), (9, 30), color=5)
    file.line((3, 32), (9, 34), color=5)


def stray_lines(file, part):
    file.part(part)
    file.line((-30, -30), (-29.6, -30))
    file.line((140, 10), (150, 16))


def open_neighbour(file, part):
    file.part(part)
    file.space.add_lwpolyline([(200, 0), (240, 0), (240, 40)]) if file.version != "R12" else file.line((200, 0), (240, 0))


def bow_tie(file, part):
    file.part(part)
    file.loop([(300, 0, 0), (340, 30, 0), (340, 0, 0), (300, 30, 0)])


def unread(file, part):
    file.part(part)
    file.space.add_3dface([(5, 5), (9, 5), (9, 9), (5, 9)])


def unread_aside(file, part):
    file.part(part)
    file.space.add_3dface([(305, 5), (309, 5), (309, 9), (305, 9)])


def wide_polyline_circle(file, part):
    """Round holes as two arcs of a polyline, as some programs write circles."""
    file.loop(part.outline)
    for hole in part.holes:
        if isinstance(hole, tuple):
            x, y, r = hole
            hole = [(x - r, y, 1), (x + r, y, 1)]
        file.loop(hole)


# Style, key of the drawing, whether all designs suit it.
STYLES = [
    (plain, ""),
    (layered, ""),
    (loose, ""),
    (tiny_gaps, ""),
    (wide_gap, 'gap = "0.31 mm"'),
    (doubled, ""),
    (frame_on_its_layer, ""),
    (frame_on_layer_0, 'frame = "leave out"'),
    (title_block, ""),
    (title_as_block, ""),
    (centre_line_across, ""),
    (dimensions, ""),
    (holes_on_center_layers, ""),
    (outline_on_frame_layer, ""),
    (construction, ""),
    (centre_lines, ""),
    (centre_by_layer, ""),
    (blocks, ""),
    (hidden_layers, ""),
    (paper, ""),
    (far_away, ""),
    (flat_pattern, ""),
    (coloured_engraving, "mark_colours = [5]"),
    (stray_lines, 'open_lines = "leave out"'),
    (open_neighbour, "piece = 1"),
    (bow_tie, 'faulty_loops = "leave out"'),
    (unread, 'not_understood = "leave out"'),
    (unread_aside, ""),
    (wide_polyline_circle, ""),
]


def entry(name, data, key, parts, is_sound=True, **more):
    return {"file": name, "data": data, "key": key, "parts": parts, "sound": is_sound, **more}


def drawings():
    parts = designs()
    for number, (style, key) in enumerate(STYLES):
        for turn in range(3):
            version = VERSIONS[(number + 3 * turn) % len(VERSIONS)]
            part = parts[(number + turn) % len(parts)]
            file = File(version)
            style(file, part)
            expected = part.expected()
            if style is blocks:
                expected["size"].reverse()
            # A joined gap moves both ends to their mean.
            more = {"slack": 20.0} if style is wide_gap else {}
            yield entry(f"{style.__name__}-{version}-{turn}.dxf", file.bytes(), key, [expected], **more)
    yield from units(parts)
    yield from single_cases(parts)
    yield from by_hand(parts)


def units(parts):
    for turn, version in enumerate(["R2000", "R2010", "R2018"]):
        part = parts[turn]
        inches = File(version, 1, 1 / 25.4)
        plain(inches, part)
        yield entry(f"inches-{version}.dxf", inches.bytes(), "", [part.expected()])
        # A header that names none, and one that names the wrong one.
        bare = File(version, 0, 1 / 25.4)
        plain(bare, part)
        yield entry(f"inches-unnamed-{version}.dxf", bare.bytes(), 'unit = "in"', [part.expected()])
        yield entry(
            f"true-width-{version}.dxf", bare.bytes(), f'width = {part.expected()["size"][0]}', [part.expected()]
        )
        wrong = File(version, 4, 1 / 25.4)
        plain(wrong, part)
        yield entry(f"inches-named-mm-{version}.dxf", wrong.bytes(), "", [part.expected()], is_sound=False)
        metres = File(version, 6, 1 / 1000)
        plain(metres, part)
        yield entry(f"metres-{version}.dxf", metres.bytes(), "", [part.expected()])
        lost = File(version, 4, 1 / 1000)
        plain(lost, part)
        yield entry(f"metres-named-mm-{version}.dxf", lost.bytes(), "", [part.expected()], is_sound=False)


def single_cases(parts):
    gate, pan, hanger, _ = parts
    for version in ("R12", "R2010", "R2018"):
        file = File(version)
        mirrored(file, hanger)
        yield entry(f"mirrored-{version}.dxf", file.bytes(), "", [hanger.expected()] * 2)
        # A bend line by its line type.
        file = File(version)
        file.part(gate)
        file.line((0, 32), (120, 32), linetype="DASHED")
        yield entry(f"dashed-bend-{version}.dxf", file.bytes(), "", [gate.expected()], bends=1)
        # And one that nothing tells but where it runs.
        file = File(version)
        file.part(gate)
        file.line((0, 31), (120, 31))
        yield entry(f"plain-bend-{version}.dxf", file.bytes(), 'open_lines = "bend"', [gate.expected()], bends=1)
        # Two parts that share an edge, drawn as lines; and a grid of six.
        file = File(version)
        for side in [((0, 0), (80, 0)), ((80, 0), (80, 50)), ((80, 50), (0, 50)), ((0, 50), (0, 0)), ((40, 0), (40, 50))]:
            file.line(*side)
        half = {"area": 2000.0, "size": [40.0, 50.0], "holes": 0}
        yield entry(f"shared-edge-{version}.dxf", file.bytes(), 'shared_edges = "split"', [half] * 2)
        file = File(version)
        file.loop(rectangle(0, 0, 90, 60))
        for x in (30, 60):
            file.line((x, 0), (x, 60))
        file.line((0, 30), (90, 30))
        file.hole((15, 15, 4))
        cell = {"area": 900.0, "size": [30.0, 30.0], "holes": 0}
        holed = {"area": 900.0 - hole_shape((15, 15, 4)).area, "size": [30.0, 30.0], "holes": 1}
        yield entry(f"grid-{version}.dxf", file.bytes(), 'shared_edges = "split"', [holed] + [cell] * 5)
        # Several parts, and an ellipse, a rational spline and a fitted one as holes.
        file = File(version)
        file.part(gate)
        file.part(pan.moved(150, 0))
        yield entry(f"two-{version}.dxf", file.bytes(), "", [gate.expected(), pan.expected()])
    for version in ("R2000", "R2013"):
        for is_closed in (False, True):
            file = File(version)
            file.loop(rectangle(0, 0, 100, 60))
            points = [(20, 10), (40, 10), (50, 30), (10, 35)] + ([] if is_closed else [(20, 10)])
            spline = file.space.add_spline(points)
            spline.closed = is_closed
            if is_closed:
                hole = closed_through(points)
            else:
                tool = ezdxf.math.fit_points_to_cad_cv(points)
                hole = Polygon([(p.x, p.y) for p in tool.flattening(0.001)])
            expected = {"area": 6000 - hole.area, "size": [100.0, 60.0], "holes": 1}
            yield entry(f"fit-spline-{is_closed}-{version}.dxf", file.bytes(), "", [expected], slack=1.5)
        file = File(version)
        file.loop(rectangle(0, 0, 100, 60))
        file.space.add_ellipse((50, 30), (20, 0), 0.5)
        expected = {"area": 6000 - math.pi * 200, "size": [100.0, 60.0], "holes": 1}
        yield entry(f"ellipse-{version}.dxf", file.bytes(), "", [expected])


def closed_through(points):
    """The periodic cubic spline through points by length of chord, from a dense system of our own."""
    import numpy

    count = len(points)
    points = numpy.array(points, dtype=float)
    steps = numpy.linalg.norm(numpy.roll(points, -1, axis=0) - points, axis=1)
    matrix = numpy.zeros((count, count))
    right = numpy.zeros((count, 2))
    for i in range(count):
        before = (i - 1) % count
        matrix[i, before] += steps[i]
        matrix[i, i] += 2 * (steps[before] + steps[i])
        matrix[i, (i + 1) % count] += steps[before]
        chord = lambda k: (points[(k + 1) % count] - points[k]) / steps[k]
        right[i] = 3 * (steps[i] * chord(before) + steps[before] * chord(i))
    slopes = numpy.linalg.solve(matrix, right)
    ring = []
    for i in range(count):
        a, b, s, t = points[i], points[(i + 1) % count], slopes[i] * steps[i], slopes[(i + 1) % count] * steps[i]
        for u in numpy.linspace(0, 1, 200, endpoint=False):
            ring.append(
                (2 * u**3 - 3 * u**2 + 1) * a + (u**3 - 2 * u**2 + u) * s + (3 * u**2 - 2 * u**3) * b + (u**3 - u**2) * t
            )
    return Polygon(ring)


def by_hand(parts):
    """Text as old and small programs write it: no header, decimal commas, other line ends, the library's R12 writer."""
    gate = parts[0]
    corners = [point[:2] for point in gate.outline]

    def text(number=lambda v: f"{v:.4f}", end="\n", head=""):
        lines = []
        for a, b in zip(corners, corners[1:] + corners[:1]):
            lines += ["0", "LINE", "8", "0"]
            for code, value in zip((10, 20, 11, 21), (*a, *b)):
                lines += [str(code), number(value)]
        for x, y, r in gate.holes:
            lines += ["0", "CIRCLE", "8", "0", "10", number(x), "20", number(y), "40", number(r)]
        return (head + end.join(["0", "SECTION", "2", "ENTITIES", *lines, "0", "ENDSEC", "0", "EOF", ""])).encode()

    expected = [gate.expected()]
    yield entry("bare.dxf", text(), "", expected)
    yield entry("commas.dxf", text(lambda v: f"{v:.4f}".replace(".", ",")), "", expected)
    yield entry("crlf.dxf", text(end="\r\n"), "", expected)
    yield entry("exponents.dxf", text(lambda v: f"{v:.6e}"), "", expected)
    yield entry("comment.dxf", text(head="999\nby hand\n"), "", expected)
    yield entry("padded.dxf", text(lambda v: f"   {v:.2f}  "), "", expected)
    stream = io.StringIO()
    with r12writer(stream) as writer:
        writer.add_polyline_2d([p[:2] for p in gate.outline], closed=True)
        for x, y, r in gate.holes:
            writer.add_circle((x, y), r)
    yield entry("r12writer.dxf", stream.getvalue().encode(), "", expected)
    # Broken beyond doubt: refused, with the place.
    half = text()
    yield entry("cut-off.dxf", half[: len(half) // 2], "", [], is_sound=False)
    yield entry("open.dxf", text().replace(b"LINE", b"TEXT", 1), "", [], is_sound=False)
