"""What other libraries find in a file of lines: one JSON object, millimetres.

python3 read_lines.py dxf FILE     with ezdxf (MIT), 0.18 or newer
python3 read_lines.py svg FILE     with svgelements (MIT), 1.7 or newer
python3 read_lines.py hpgl FILE    with hp2xx 3.4 (GPL), which draws the plot into an SVG file at true size

A second opinion on our own writers: nothing is known of how the file was made.
"""
import json
import math
import re
import subprocess
import sys
import tempfile


def measured(points, closed, **more):
    ends = points[1:] + points[:1] if closed else points[1:]
    length = sum(math.dist(a, b) for a, b in zip(points, ends))
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1])) / 2
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return {**more, "closed": closed, "length": length, "area": abs(area), "points": len(points),
            "bounds": [min(xs), min(ys), max(xs), max(ys)]}


def dxf(name):
    import ezdxf
    document = ezdxf.readfile(name)
    faults = document.audit()
    inserts = [(e.dxf.name, e.get_dxf_attrib("xscale", 1), e.get_dxf_attrib("yscale", 1))
               for e in document.modelspace().query("INSERT")]
    texts = [e.dxf.text for e in document.modelspace().query("TEXT")]
    blocks = []
    for block in document.blocks:
        if block.name.startswith("*") or block.name.startswith("$"):
            continue
        lines, points, circles = [], {}, []
        for e in block:
            layer, kind = e.dxf.layer, e.dxftype()
            if kind == "POLYLINE":
                at = [(v.dxf.location.x, v.dxf.location.y) for v in e.vertices]
                lines.append(measured(at, bool(e.is_closed), layer=layer, at=at))
            elif kind == "LINE":
                at = [(e.dxf.start.x, e.dxf.start.y), (e.dxf.end.x, e.dxf.end.y)]
                lines.append(measured(at, False, layer=layer, at=at))
            elif kind == "POINT":
                points.setdefault(layer, []).append((e.dxf.location.x, e.dxf.location.y))
            elif kind == "CIRCLE":
                circles.append({"layer": layer, "radius": e.dxf.radius})
            elif kind == "TEXT":
                texts.append(e.dxf.text)
        blocks.append({"name": block.name, "lines": lines, "points": points, "circles": circles})
    return {"version": document.dxfversion, "errors": len(faults.errors), "inserts": inserts, "blocks": blocks,
            "texts": texts}


def svg(name):
    from svgelements import SVG, Line, Move, Close, Path
    # Drawn at 25.4 pixels to the inch, a pixel is a millimetre.
    drawing = SVG.parse(name, ppi=25.4)
    lines = []
    for e in drawing.elements():
        if not isinstance(e, Path) or len(e) == 0:
            continue
        at, closed = [], False
        for s in e:
            if isinstance(s, Move):
                at.append((s.end.x, s.end.y))
            elif isinstance(s, Close):
                closed = True
            elif isinstance(s, Line):
                at.append((s.end.x, s.end.y))
            else:
                # A quarter of a millimetre apart, and never few: a chord of a circle then departs by less than 1e-4 of it.
                way = [q for q in (s.start, getattr(s, "control1", None), getattr(s, "control2", None), s.end) if q]
                most = sum(math.dist((p.x, p.y), (q.x, q.y)) for p, q in zip(way, way[1:]))
                steps = min(1024, max(16, math.ceil(4 * most)))
                at += [(p.x, p.y) for p in (s.point(i / steps) for i in range(1, steps + 1))]
        if closed and math.dist(at[0], at[-1]) < 1e-9:
            at.pop()
        lines.append(measured(at, closed, id=e.id, group=e.values.get("group")))
    groups = re.findall(r'<g id="([^"]+)"', open(name, encoding="utf-8").read())
    return {"width": float(drawing.width), "height": float(drawing.height), "groups": groups, "lines": lines}


def hpgl(name):
    # SVG is its most exact output: thousandths of a point, 72 to the inch.
    with tempfile.NamedTemporaryFile(suffix=".svg") as out:
        subprocess.run(["hp2xx", "-q", "-t", "-m", "svg", "-f", out.name, name], check=True, capture_output=True)
        drawn = open(out.name, encoding="latin-1").read()
    runs = []
    for path in re.findall(r'<path d="([^"]*)"', drawn):
        numbers = [float(n) * 25.4 / 72 for n in re.findall(r"-?[0-9]+(?:\.[0-9]+)?", path)]
        at = list(zip(numbers[::2], numbers[1::2]))
        # A long line is written in parts, each of which begins where the last ended.
        if runs and runs[-1][-1] == at[0]:
            runs[-1] += at[1:]
        else:
            runs.append(at)
    return {"lines": [measured(run, False) for run in runs if len(run) > 1]}


print(json.dumps({"dxf": dxf, "svg": svg, "hpgl": hpgl}[sys.argv[1]](sys.argv[2])))
