"""Designs that the drawings show, measured by shapely."""

import math

from shapely.geometry import Point, Polygon, box

FINE = 256


class Part:
    """One flat part: what is drawn of it, and its measured shape. Lengths are millimetres."""

    def __init__(self, outline, holes=()):
        # An outline is a list of (x, y, bulge); a hole (x, y, radius) or such a list.
        self.outline = outline
        self.holes = list(holes)

    def shape(self):
        shape = polygon(self.outline)
        for hole in self.holes:
            shape = shape.difference(hole_shape(hole))
        return shape

    def expected(self, scale=1.0):
        shape = self.shape()
        return {
            "area": shape.area * scale**2,
            "size": [(shape.bounds[2] - shape.bounds[0]) * scale, (shape.bounds[3] - shape.bounds[1]) * scale],
            "holes": len(self.holes),
        }

    def moved(self, dx, dy):
        outline = [(x + dx, y + dy, bulge) for x, y, bulge in self.outline]
        holes = []
        for hole in self.holes:
            if isinstance(hole, tuple):
                holes.append((hole[0] + dx, hole[1] + dy, hole[2]))
            else:
                holes.append([(x + dx, y + dy, bulge) for x, y, bulge in hole])
        return Part(outline, holes)


def hole_shape(hole):
    if isinstance(hole, tuple):
        return Point(hole[0], hole[1]).buffer(hole[2], quad_segs=FINE)
    return polygon(hole)


def arc_points(a, b, bulge):
    """Points on an arc by its bulge, the first left out: tangent of a quarter of the sweep, above zero to the left."""
    (x1, y1), (x2, y2) = a, b
    if bulge == 0:
        return [b]
    sweep = 4 * math.atan(bulge)
    chord = math.hypot(x2 - x1, y2 - y1)
    radius = chord / (2 * math.sin(sweep / 2))
    middle = ((x1 + x2) / 2, (y1 + y2) / 2)
    height = radius * math.cos(sweep / 2)
    cx, cy = middle[0] - height * (y2 - y1) / chord, middle[1] + height * (x2 - x1) / chord
    start = math.atan2(y1 - cy, x1 - cx)
    steps = FINE
    return [
        (cx + abs(radius) * math.cos(start + sweep * i / steps), cy + abs(radius) * math.sin(start + sweep * i / steps))
        for i in range(1, steps)
    ] + [b]


def arc_of(a, b, bulge):
    """Centre, radius and the two angles in degrees, counter-clockwise."""
    points = arc_points(a, b, bulge)
    sweep = 4 * math.atan(bulge)
    (x1, y1), (x2, y2) = a, b
    chord = math.hypot(x2 - x1, y2 - y1)
    radius = chord / (2 * math.sin(sweep / 2))
    height = radius * math.cos(sweep / 2)
    cx = (x1 + x2) / 2 - height * (y2 - y1) / chord
    cy = (y1 + y2) / 2 + height * (x2 - x1) / chord
    start = math.degrees(math.atan2(y1 - cy, x1 - cx))
    end = math.degrees(math.atan2(y2 - cy, x2 - cx))
    del points
    return ((cx, cy), abs(radius), start, end) if bulge > 0 else ((cx, cy), abs(radius), end, start)


def polygon(outline):
    points = [outline[0][:2]]
    for i, (x, y, bulge) in enumerate(outline):
        after = outline[(i + 1) % len(outline)]
        points += arc_points((x, y), after[:2], bulge)
    return Polygon(points)


def rectangle(x, y, w, h):
    return [(x, y, 0), (x + w, y, 0), (x + w, y + h, 0), (x, y + h, 0)]


def rounded(x, y, w, h, r):
    q = math.tan(math.pi / 8)
    return [
        (x + r, y, 0), (x + w - r, y, q), (x + w, y + r, 0), (x + w, y + h - r, q),
        (x + w - r, y + h, 0), (x + r, y + h, q), (x, y + h - r, 0), (x, y + r, q),
    ]


def slot(x, y, length, width):
    """A slot along x, from its lower left corner."""
    r = width / 2
    return [(x + r, y, 0), (x + length - r, y, 1), (x + length - r, y + width, 0), (x + r, y + width, 1)]


def designs():
    """Parts of an invented workshop: a feeder gate, a scale pan bracket, a lantern hanger and the like."""
    gate = Part(rectangle(0, 0, 120, 70), [(20, 20, 4.5), (100, 20, 4.5), (60, 45, 12)])
    pan = Part(rounded(0, 0, 96, 64, 9), [slot(20, 28, 40, 8), (80, 32, 3.2)])
    hanger = Part(
        [(0, 0, 0), (90, 0, 0), (90, 25, 0), (30, 25, 0), (30, 80, 0), (0, 80, 0)], [(15, 65, 5), (75, 12.5, 5)]
    )
    collar = Part([(0, 40, 1), (80, 40, 1)], [(40, 40, 21)])
    return [gate, pan, hanger, collar]


def svg_path(outline, flip):
    """Path data of an outline, y turned down by `flip`."""
    point = lambda p: (p[0], flip - p[1])
    x, y = point(outline[0])
    data = [f"M{x:.6f} {y:.6f}"]
    for i, (x0, y0, bulge) in enumerate(outline):
        after = outline[(i + 1) % len(outline)]
        x, y = point(after)
        if bulge == 0:
            data.append(f"L{x:.6f} {y:.6f}")
        else:
            sweep = 4 * math.atan(bulge)
            radius = abs(math.hypot(after[0] - x0, after[1] - y0) / (2 * math.sin(sweep / 2)))
            large = int(abs(sweep) > math.pi + 1e-9)
            data.append(f"A{radius:.6f} {radius:.6f} 0 {large} {int(bulge < 0)} {x:.6f} {y:.6f}")
    return " ".join(data) + " Z"


def svg_hole(hole, flip):
    if isinstance(hole, tuple):
        return f'<circle cx="{hole[0]:.6f}" cy="{flip - hole[1]:.6f}" r="{hole[2]:.6f}"/>'
    return f'<path d="{svg_path(hole, flip)}"/>'


__all__ = [name for name in dir() if not name.startswith("_")] + ["box"]
