"""Writes the set of drawings to a folder and prints what should be read from each, as JSON.

Usage: make.py FOLDER
"""

import json
import os
import sys

import in_dxf
import in_svg


def main():
    folder = sys.argv[1]
    entries = []
    for drawing in [*in_dxf.drawings(), *in_svg.drawings()]:
        data = drawing.pop("data")
        with open(os.path.join(folder, drawing["file"]), "wb") as file:
            file.write(data)
        entries.append(drawing)
    json.dump(entries, sys.stdout)


main()
