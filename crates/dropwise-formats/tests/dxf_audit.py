"""Audits DXF files with the ezdxf library and says what it finds in them.

Usage: dxf_audit.py FILE...

Standard output is a list in JSON, one entry a file: errors and repairs of the audit, warnings while loading, units, layers,
and by layer the number of entities of each kind and the length of its lines in drawing units, as the library computes it.
"""

import json
import logging
import math
import sys

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.math import Vec2


def length(entity):
    kind = entity.dxftype()
    if kind == "LINE":
        return Vec2(entity.dxf.start).distance(Vec2(entity.dxf.end))
    if kind == "CIRCLE":
        return math.tau * entity.dxf.radius
    if kind == "ARC":
        return entity.dxf.radius * math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
    if kind == "LWPOLYLINE":
        return sum(length(side) for side in entity.virtual_entities())
    return 0.0


class Warnings(logging.Handler):
    def __init__(self):
        super().__init__(logging.WARNING)
        self.found = []

    def emit(self, record):
        self.found.append(record.getMessage())


def look(path):
    warnings = Warnings()
    logging.getLogger("ezdxf").addHandler(warnings)
    document = ezdxf.readfile(path)
    auditor = document.audit()
    logging.getLogger("ezdxf").removeHandler(warnings)
    layers = {layer.dxf.name: {"plot": layer.dxf.plot, "kinds": {}, "length": 0.0} for layer in document.layers}
    for entity in document.modelspace():
        layer = layers[entity.dxf.layer]
        layer["kinds"][entity.dxftype()] = layer["kinds"].get(entity.dxftype(), 0) + 1
        layer["length"] += length(entity)
    return {
        "errors": [error.message for error in auditor.errors],
        "repairs": [error.message for error in auditor.fixes],
        "warnings": warnings.found,
        "version": document.dxfversion,
        "units": document.header["$INSUNITS"],
        "measurement": document.header["$MEASUREMENT"],
        "texts": [decode_dxf_unicode(entity.dxf.text) for entity in document.modelspace().query("TEXT")],
        "closed": all(entity.closed for entity in document.modelspace().query("LWPOLYLINE")),
        "layers": layers,
    }


if __name__ == "__main__":
    json.dump([look(path) for path in sys.argv[1:]], sys.stdout)
