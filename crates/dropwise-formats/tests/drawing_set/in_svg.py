"""SVG drawings as vector programs and libraries export them, with what should be read from each."""

import io

import drawsvg
import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt
import svgwrite
from common import *
from matplotlib.patches import PathPatch
from matplotlib.path import Path

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
INK = (
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
    'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"'
)
LINE = 'fill="none" stroke="#000000" stroke-width="0.1"'
HIGH = 100.0


def entry(name, text, key, parts, is_sound=True, **more):
    data = text if isinstance(text, bytes) else text.encode()
    return {"file": name, "data": data, "key": key, "parts": parts, "sound": is_sound, **more}


def shapes(part, style=LINE, dx=0.0, dy=0.0):
    """A part as loose shapes in a group, y down."""
    moved = part.moved(dx, dy)
    inside = [f'<path d="{svg_path(moved.outline, HIGH)}"/>'] + [svg_hole(hole, HIGH) for hole in moved.holes]
    return f"<g {style}>{''.join(inside)}</g>"


def compound(part):
    """One path with the outline and all openings."""
    data = [svg_path(part.outline, HIGH)]
    for hole in part.holes:
        if isinstance(hole, tuple):
            x, y, r = hole
            hole = [(x - r, y, 1), (x + r, y, 1)]
        data.append(svg_path(hole, HIGH))
    return " ".join(data)


def page(body, attributes='width="200mm" height="100mm" viewBox="0 0 200 100"', more="", head=""):
    return f'{head}<svg {NS} {more} {attributes}>{body}</svg>'


def plain(part):
    return page(shapes(part)), ""


def compound_path(part):
    return page(f'<path {LINE} d="{compound(part)}"/>'), ""


def silhouette(part):
    return page(f'<path fill="#333" fill-rule="evenodd" d="{compound(part)}"/>'), ""


def ink_layers(part):
    body = (
        '<sodipodi:namedview id="namedview7" inkscape:document-units="mm"/><defs id="defs2"/>'
        f'<g inkscape:groupmode="layer" inkscape:label="Cut" id="layer1">{shapes(part)}</g>'
        '<g inkscape:groupmode="layer" inkscape:label="Notes" id="layer2" style="display:inline">'
        f'<path {LINE} d="M3 3h30"/></g>'
    )
    return page(body, more=f'{INK} inkscape:version="1.2.2"'), ""


def ink_ids(part):
    inside = shapes(part).replace("<g ", '<g id="text77" ').replace("<circle ", '<circle id="center4" ')
    body = f'<g inkscape:groupmode="layer" inkscape:label="Laser" id="layer1"><g id="center">{inside}</g></g>'
    return page(body, more=f'{INK} inkscape:version="0.92.4"'), ""


def ink_90(part):
    scale = 90 / 25.4
    body = f'<g transform="scale({scale:.9f})">{shapes(part)}</g>'
    return page(body, 'width="744.09448" height="400"', more=f'{INK} inkscape:version="0.48.4 r9939"'), ""


def ink_90_mm(part):
    scale = 90 / 25.4
    body = f'<g transform="scale({scale:.9f})">{shapes(part)}</g>'
    size = f'width="200mm" height="100mm" viewBox="0 0 {200 * scale:.6f} {100 * scale:.6f}"'
    return page(body, size, more=f'{INK} inkscape:version="0.91 r13725"'), ""


def illustrator(part):
    scale = 72 / 25.4
    body = (
        '<style type="text/css">.st0{fill:none;stroke:#000000;stroke-miterlimit:10;}.st1{display:none;}</style>'
        f'<g id="Layer_1"><g transform="scale({scale:.9f})">{shapes(part, "class=%st0%".replace("%", chr(34)))}</g>'
        '<rect class="st1" x="20" y="20" width="30" height="30"/></g>'
    )
    head = (
        '<?xml version="1.0" encoding="utf-8"?><!-- Generator: Adobe Illustrator 24.0.1, SVG Export Plug-In -- 6.00 -->'
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" '
        '[<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
    )
    return page(body, f'x="0px" y="0px" viewBox="0 0 {200 * scale:.4f} {100 * scale:.4f}"', head=head), ""


def page_behind(part):
    return page(f'<rect width="200" height="100" fill="#ffffff"/>{shapes(part)}'), ""


def unseen(part):
    body = (
        shapes(part)
        + '<rect x="5" y="60" width="9" height="9" fill="none" stroke="none"/>'
        + '<circle cx="9" cy="50" r="2" opacity="0"/><circle cx="9" cy="50" r="1" visibility="hidden"/>'
        + '<g style="display:none"><rect x="1" y="1" width="4" height="4"/></g>'
    )
    return page(body), ""


def engraved(part):
    body = shapes(part, 'fill="none" stroke="#ff0000"') + '<path fill="none" stroke="#000" d="M3 96h8 m2 0l3 -4"/>'
    return page(body), 'mark_colours = ["black"]'


def only_red(part):
    body = shapes(part, 'style="fill:none;stroke:#ff0000"') + (
        '<path fill="none" stroke="#00f" d="M3 96h8"/><circle cx="3" cy="97" r="1" fill="none" stroke="#0a0"/>'
    )
    return page(body), 'cut_colours = ["red"]'


def used(part):
    inside = shapes(part).replace("<g ", '<g id="unit" ')
    return page(f'<defs>{inside}</defs><use xlink:href="#unit" x="60" y="-3"/>'), ""


def symbol(part):
    body = f'<symbol id="s" viewBox="0 0 200 100">{shapes(part)}</symbol><use href="#s" width="200" height="100"/>'
    return page(body), ""


def clipped_by_page(part):
    body = (
        '<defs><clipPath id="c"><rect x="0" y="0" width="200" height="100"/></clipPath></defs>'
        f'<g clip-path="url(#c)">{shapes(part)}<circle {LINE} cx="400" cy="400" r="20"/></g>'
    )
    return page(body), ""


def pixels_told(part):
    return page(shapes(part), 'viewBox="0 0 200 100"'), 'unit = "mm"'


def pixels_by_width(part):
    width = part.expected()["size"][0]
    return page(shapes(part), 'width="200px" height="100px"'), f"width = {width}"


def points(part):
    return page(shapes(part), f'width="{200 * 72 / 25.4}pt" height="{100 * 72 / 25.4}pt" viewBox="0 0 200 100"'), ""


def turned(part):
    body = f'<g transform="translate(180 90) rotate(180) translate(20 0)"><g transform="scale(-1 1) translate(-160 0)">{shapes(part)}</g></g>'
    return page(body), ""


def nested(part):
    return page(f'<svg x="10" y="0" width="200" height="100" viewBox="0 0 200 100">{shapes(part)}</svg>', 'width="300mm" height="100mm" viewBox="0 0 300 100"'), ""


def unused_defs(part):
    body = (
        '<defs><rect id="r" width="9" height="9"/><linearGradient id="g"/><marker id="m"><path d="M0 0h4v4z"/></marker></defs>'
        '<metadata>made by hand</metadata><title>gate</title>' + shapes(part)
    )
    return page(body), ""


def dashed(part):
    body = shapes(part) + '<line x1="0" y1="66" x2="120" y2="66" stroke="#000" stroke-dasharray="3 2"/>'
    return page(body), ""


def folds_by_layer(part):
    body = shapes(part) + '<g id="Biegelinien"><path stroke="#0000ff" fill="none" d="M1 95h20"/></g>'
    return page(body), ""


def comments(part):
    return page(shapes(part), head="<!-- made -- by hand --->"), ""


def latin(part):
    text = page(shapes(part), head='<?xml version="1.0" encoding="ISO-8859-1"?><!-- B\u00fcgel -->')
    return text.encode("latin-1"), ""


def by_svgwrite(part):
    drawing = svgwrite.Drawing(size=("200mm", "100mm"), viewBox="0 0 200 100")
    layer = drawing.add(drawing.g(id="cut", fill="none", stroke="black"))
    layer.add(drawing.path(d=svg_path(part.outline, HIGH)))
    for hole in part.holes:
        if isinstance(hole, tuple):
            layer.add(drawing.circle((hole[0], HIGH - hole[1]), hole[2]))
        else:
            layer.add(drawing.path(d=svg_path(hole, HIGH)))
    return drawing.tostring(), ""


def by_drawsvg(part):
    drawing = drawsvg.Drawing(200, 100)
    drawing.set_render_size("200mm", "100mm")
    drawing.append(drawsvg.Path(d=svg_path(part.outline, HIGH), fill="none", stroke="red"))
    for hole in part.holes:
        if isinstance(hole, tuple):
            drawing.append(drawsvg.Circle(hole[0], HIGH - hole[1], hole[2], fill="none", stroke="red"))
        else:
            drawing.append(drawsvg.Path(d=svg_path(hole, HIGH), fill="none", stroke="red"))
    return drawing.as_svg(), ""


def by_matplotlib(part):
    """A figure as large as the drawing, in points, with its white patch behind and a clip around the axes."""
    figure = plt.figure(figsize=(200 / 25.4, 100 / 25.4))
    axes = figure.add_axes([0, 0, 1, 1])
    axes.set_xlim(0, 200)
    axes.set_ylim(0, 100)
    axes.axis("off")
    rings = [polygon(part.outline)] + [hole_shape(hole) for hole in part.holes]
    for ring in rings:
        corners = list(ring.exterior.coords)
        path = Path(corners, [Path.MOVETO] + [Path.LINETO] * (len(corners) - 2) + [Path.CLOSEPOLY])
        path.should_simplify = False
        axes.add_patch(PathPatch(path, fill=False, edgecolor="black"))
    stream = io.BytesIO()
    figure.savefig(stream, format="svg")
    plt.close(figure)
    return stream.getvalue(), ""


STYLES = [
    plain, compound_path, silhouette, ink_layers, ink_ids, ink_90, ink_90_mm, illustrator, page_behind, unseen, engraved,
    only_red, used, symbol, clipped_by_page, pixels_told, pixels_by_width, points, turned, nested, unused_defs, folds_by_layer,
    comments, latin, by_svgwrite, by_drawsvg, by_matplotlib,
]


def drawings():
    parts = designs()
    # All within the page, whatever the style does with them.
    parts = [part.moved(10, 5) for part in parts]
    for number, style in enumerate(STYLES):
        for turn in range(2 if style is by_matplotlib else 3):
            part = parts[(number + turn) % len(parts)]
            text, key = style(part)
            more = {"slack": 3.0} if style is by_matplotlib else {}
            yield entry(f"{style.__name__}-{turn}.svg", text, key, [part.expected()], **more)
    gate = Part(rectangle(0, 10, 120, 70), [(20, 30, 4.5)])
    yield entry("dashed.svg", dashed(gate)[0], "", [gate.expected()], bends=1)
    # Broken beyond doubt.
    half = plain(gate)[0]
    yield entry("cut-off.svg", half[: len(half) // 2], "", [], is_sound=False)
    masked = page(
        '<defs><clipPath id="c"><circle cx="60" cy="60" r="30"/></clipPath></defs>'
        f'<g clip-path="url(#c)">{shapes(gate)}</g>'
    )
    yield entry("clipped.svg", masked, "", [], is_sound=False)
    pixels = page(shapes(gate), 'width="200" height="100"')
    yield entry("pixels.svg", pixels, "", [gate.expected()], is_sound=False)
