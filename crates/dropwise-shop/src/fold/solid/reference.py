"""Where folded parts take the same space twice, by a general library of solids (manifold3d) and shapely.

Reads a list of flat patterns as JSON from standard input and folds them by itself: all that is taken over are the cut, the
regions of faces, and for each bend its two lines, inside radius, turn, direction and allowance. Writes for each part the
pairs of plates that share a volume: of the whole plates, and of plates shrunk all round by "shrunk" mm.
"""

import json
import sys

import manifold3d as m3
import numpy as np
import shapely

STEP_DEG = 4.0


def sections(polygon):
    """The polygons of a shapely geometry as cross sections."""
    parts = [part for part in getattr(polygon, "geoms", [polygon]) if part.geom_type == "Polygon" and part.area > 1e-9]
    for part in parts:
        part = shapely.geometry.polygon.orient(part)
        rings = [np.array(ring.coords)[:-1] for ring in [part.exterior, *part.interiors]]
        yield m3.CrossSection(rings, m3.FillRule.NonZero)


def bend_frame(bend):
    start, other = np.array(bend["start"][0]), np.array(bend["start"][1])
    along = (other - start) / np.linalg.norm(other - start)
    # Travelling along the line the face that is brought up lies to the right.
    return start, np.array([along[1], -along[0]])


def turned(bend, thickness, points, angle):
    """Points given at the line where the bend begins, turned with the sheet by some angle; in the parent's flat frame."""
    start, away = bend_frame(bend)
    up = 1.0 if bend["up"] else -1.0
    height = thickness + bend["radius"] if bend["up"] else -bend["radius"]
    out = np.array(points, dtype=float)
    across = (out[:, :2] - start) @ away
    z = out[:, 2] - height
    foot = out[:, :2] - np.outer(across, away)
    cos, sin = np.cos(angle), np.sin(angle)
    new_across = across * cos - up * z * sin
    new_z = up * across * sin + z * cos
    out[:, :2] = foot + np.outer(new_across, away)
    out[:, 2] = new_z + height
    return out


def plates(part, shrunk):
    thickness = part["thickness"]
    cut = shapely.Polygon(part["cut"][0], part["cut"][1:])
    heights = (shrunk, thickness - shrunk)

    def placed(points, face):
        """From the flat frame of a face to space: up the tree of bends, the nearest first."""
        while part["faces"][face]["parent"] is not None:
            bend = part["bends"][face - 1]
            _, away = bend_frame(bend)
            points = np.array(points, dtype=float)
            points[:, :2] -= away * bend["allowance"]
            points = turned(bend, thickness, points, np.radians(bend["turn"]))
            face = part["faces"][face]["parent"]
        return points

    def solid(region, place):
        metal = region.intersection(cut)
        if shrunk:
            metal = metal.buffer(-shrunk)
        bodies = []
        for section in sections(metal):
            body = m3.Manifold.extrude(section, heights[1] - heights[0]).translate((0, 0, heights[0]))
            bodies.append(body.warp_batch(place))
        return bodies

    found = []
    for index, face in enumerate(part["faces"]):
        bodies = solid(shapely.Polygon(face["ring"]).buffer(0), lambda points, index=index: placed(points, index))
        found.append((("face", index), bodies))
    for bend in part["bends"]:
        start, away = bend_frame(bend)
        zone = shapely.Polygon([bend["start"][0], bend["end"][0], bend["end"][1], bend["start"][1]]).buffer(0)
        # Shrunk as a whole, then bent strip by strip.
        whole = zone.intersection(cut)
        if shrunk:
            whole = whole.buffer(-shrunk)
        count = max(1, int(np.ceil(bend["turn"] / STEP_DEG)))
        width, bodies = bend["allowance"] / count, []
        if width <= 0:
            continue
        for strip in range(count):
            low, high = strip * width, (strip + 1) * width
            line = np.array([away[1], -away[0]]) * 1e4
            quad = [start + away * low - line, start + away * high - line, start + away * high + line, start + away * low + line]
            piece = whole.intersection(shapely.Polygon(quad).buffer(0))

            def place(points, low=low, bend=bend):
                points = np.array(points, dtype=float)
                across = (points[:, :2] - start) @ away
                out = np.empty_like(points)
                for row, a in enumerate(across):
                    at = points[row].copy()
                    at[:2] -= away * a
                    angle = np.radians(bend["turn"]) * a / bend["allowance"]
                    out[row] = turned(bend, thickness, at[None, :], angle)[0]
                return placed(out, part["faces"][bend["face"]]["parent"])

            for section in sections(piece):
                body = m3.Manifold.extrude(section, heights[1] - heights[0]).translate((0, 0, heights[0]))
                bodies.append(body.warp_batch(place))
        found.append((("bend", bend["face"]), bodies))
    return found


def joined(part, one, two):
    kinds = {one[0], two[0]}
    if kinds == {"face", "bend"}:
        face, bend = (one[1], two[1]) if one[0] == "face" else (two[1], one[1])
        return face == bend or part["faces"][bend]["parent"] == face
    return False


def boxes_meet(one, two):
    return all(one[i] <= two[i + 3] and two[i] <= one[i + 3] for i in range(3))


def shared(part, shrunk):
    bodies = plates(part, shrunk)
    pairs = {}
    for i, (one, first) in enumerate(bodies):
        for two, second in bodies[i + 1 :]:
            if joined(part, one, two):
                continue
            volume = 0.0
            for a in first:
                for b in second:
                    if boxes_meet(a.bounding_box(), b.bounding_box()):
                        volume += (a ^ b).volume()
            faces = tuple(sorted((one[1], two[1])))
            if volume > 0:
                pairs[faces] = pairs.get(faces, 0.0) + volume
    return pairs


def main():
    given = json.load(sys.stdin)
    answer = []
    for part in given["parts"]:
        whole, less = shared(part, 0.0), shared(part, given["shrunk"])
        keys = sorted(set(whole) | set(less))
        answer.append([[*key, whole.get(key, 0.0), less.get(key, 0.0)] for key in keys])
    json.dump(answer, sys.stdout)


main()
