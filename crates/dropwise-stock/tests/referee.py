"""Works a stock log out again, with nothing but Python's standard library.

Usage: referee.py LOG CSV. Prints one JSON object. Areas come from the corners by the trapezium rule and circular
segments by the central angle, weights from the densities named below; nothing is taken from the area and weight columns.
"""

import csv
import json
import math
import sqlite3
import sys
import zlib

# g/cm3. Density Table of Metals: rolled steel 7.85. Density of Metal: brass 60/40 8.52. 5052 aluminium 2.68, from memory.
DENSITIES = {"mild steel": 7.85, "brass": 8.52, "5052 aluminium": 2.68}


def ring_area(corners):
    """Area of a ring, positive when it runs counter-clockwise; the third number of a corner is a bulge."""
    area = 0.0
    for i, corner in enumerate(corners):
        x0, y0 = corner[:2]
        x1, y1 = corners[(i + 1) % len(corners)][:2]
        area += (x0 + x1) * (y1 - y0) / 2
        if len(corner) > 2:
            angle = 4 * math.atan(corner[2])
            chord = math.hypot(x1 - x0, y1 - y0)
            radius = chord / (2 * math.sin(angle / 2))
            area += radius * radius * (angle - math.sin(angle)) / 2
    return area


def shape_area(text):
    shape = json.loads(text)
    return abs(ring_area(shape["exterior"])) - sum(abs(ring_area(hole)) for hole in shape.get("holes", []))


def main(log, rack):
    database = sqlite3.connect(log)
    (integrity,) = database.execute("PRAGMA integrity_check").fetchone()
    try:
        database.execute("UPDATE event SET cause = 'changed'")
        change_refused = False
    except sqlite3.DatabaseError:
        change_refused = True
    one = lambda query: database.execute(query).fetchone()[0]

    bad_checksums = 0
    rows = database.execute("SELECT number, time, is_clock_behind, kind, cause, body, undoes, checksum FROM event")
    for *columns, checksum in rows:
        text = "\n".join("" if column is None else str(column) for column in columns)
        bad_checksums += zlib.crc32(text.encode("utf-8")) != checksum

    classes = {}
    with open(rack, newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            area = shape_area(row["shape"])
            thickness = float(row["measured_mm"] or row["thickness_mm"])
            key = (row["material"], round(float(row["thickness_mm"]), 2))
            entry = classes.setdefault(key, {"count": 0, "cost": 0, "area": 0.0, "weight": 0.0})
            entry["count"] += 1
            entry["cost"] += int(row["cost_coins"])
            entry["area"] += area
            entry["weight"] += area * thickness * DENSITIES[row["material"]] * 1e-6

    # In the order of the report: mild steel, 5052 aluminium, brass.
    order = ["mild steel", "5052 aluminium", "brass"]
    keys = sorted(classes, key=lambda key: (order.index(key[0]), key[1]))
    print(json.dumps({
        "integrity_check": integrity,
        "foreign_key_check": len(database.execute("PRAGMA foreign_key_check").fetchall()),
        "events": one("SELECT count(*) FROM event"),
        "bad_checksums": bad_checksums,
        "change_refused": change_refused,
        "paid": one("SELECT sum(paid) FROM sheet"),
        "in_rack": one("SELECT sum(cost) FROM sheet WHERE state = 'in rack'"),
        "gone": one("SELECT coalesce(sum(cost), 0) FROM sheet WHERE state <> 'in rack'"),
        "classes": [dict(classes[key], material=key[0]) for key in keys],
        "total_cost": sum(entry["cost"] for entry in classes.values()),
    }))


main(*sys.argv[1:])
