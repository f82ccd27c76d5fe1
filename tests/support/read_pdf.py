"""Reads a PDF with pypdf and prints what is drawn on its pages as one JSON object, millimetres, y down.

python3 read_pdf.py FILE.pdf

A second opinion on our own writer: operators are followed as ISO 32000-1 says (q Q cm w d m l c h re W n S f B BDC
EMC), nothing is known of how the file was made. Curves are sampled at 256 places.
"""
import json
import sys

import pypdf

MM = 25.4 / 72


def times(a, b):
    """The matrix that does a first, then b."""
    return (a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3], a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
            a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5])


def page_paths(reader, page, height):
    layers = {}
    properties = page["/Resources"].get("/Properties", {})
    for name, group in properties.items():
        layers[name] = str(group.get_object()["/Name"])
    state = {"m": (1, 0, 0, 1, 0, 0), "w": 1.0, "dash": [], "clip": None}
    stack, marked, out = [], [], []
    subpaths, current, clipping = [], None, False

    def at(x, y):
        m = state["m"]
        return [(m[0] * x + m[2] * y + m[4]) * MM, height - (m[1] * x + m[3] * y + m[5]) * MM]

    def close_all():
        nonlocal subpaths, current, clipping
        subpaths, current, clipping = [], None, False

    content = pypdf.generic.ContentStream(page.get_contents(), reader)
    for operands, operator in content.operations:
        v = [float(x) for x in operands if isinstance(x, (int, float))]
        if operator == b"q":
            stack.append(dict(state))
        elif operator == b"Q":
            state = stack.pop()
        elif operator == b"cm":
            state["m"] = times(tuple(v), state["m"])
        elif operator == b"w":
            state["w"] = v[0]
        elif operator == b"d":
            state["dash"] = [float(x) for x in operands[0]]
        elif operator == b"BDC":
            marked.append(layers.get(operands[1]) if operands[0] == "/OC" else None)
        elif operator == b"EMC":
            marked.pop()
        elif operator == b"m":
            current = {"points": [at(*v)], "raw": tuple(v), "closed": False}
            subpaths.append(current)
        elif operator == b"l":
            current["points"].append(at(*v))
            current["raw"] = tuple(v)
        elif operator == b"c":
            x0, y0 = current["raw"]
            for i in range(1, 257):
                t = i / 256
                k = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3)
                current["points"].append(at(k[0] * x0 + k[1] * v[0] + k[2] * v[2] + k[3] * v[4],
                                            k[0] * y0 + k[1] * v[1] + k[2] * v[3] + k[3] * v[5]))
            current["raw"] = (v[4], v[5])
        elif operator == b"h":
            current["closed"] = True
        elif operator == b"re":
            x, y, w, h = v
            corners = [at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)]
            current = {"points": corners, "raw": (x, y), "closed": True}
            subpaths.append(current)
        elif operator == b"W":
            clipping = True
        elif operator in (b"n", b"S", b"f", b"B", b"s", b"b"):
            if clipping:
                points = [p for s in subpaths for p in s["points"]]
                xs, ys = [p[0] for p in points], [p[1] for p in points]
                state["clip"] = [min(xs), min(ys), max(xs), max(ys)]
            if operator != b"n":
                m = state["m"]
                scale = abs(m[0] * m[3] - m[1] * m[2]) ** 0.5 * MM
                out.append({
                    "layer": next((n for n in reversed(marked) if n), None),
                    "stroked": operator in (b"S", b"B", b"s", b"b"),
                    "filled": operator in (b"f", b"B", b"b"),
                    "width_mm": state["w"] * scale,
                    "dashes_mm": [d * scale for d in state["dash"]],
                    "clip": state["clip"],
                    "subpaths": [{"points": s["points"], "closed": s["closed"]} for s in subpaths],
                })
            close_all()
    return out


def main():
    reader = pypdf.PdfReader(sys.argv[1])
    root = reader.trailer["/Root"]
    optional = root["/OCProperties"]
    pages = []
    for page in reader.pages:
        box = [float(v) for v in page.mediabox]
        height = (box[3] - box[1]) * MM
        pages.append({
            "width_mm": (box[2] - box[0]) * MM,
            "height_mm": height,
            "user_unit": "/UserUnit" in page,
            "words": page.extract_text(),
            "paths": page_paths(reader, page, height),
        })
    print(json.dumps({
        "print_scaling": str(root["/ViewerPreferences"]["/PrintScaling"]),
        "layers": [str(group.get_object()["/Name"]) for group in optional["/OCGs"]],
        "has_default": "/D" in optional,
        "title": reader.metadata.title,
        "pages": pages,
    }))


main()
