"""Writes flat patterns whose bends are known, has them read, and compares; then spoils some.

The patterns, their bends and the arithmetic of legs are made here and share nothing with the reader.
"""

import argparse
import io
import json
import logging
import math
import random
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import ezdxf
from ezdxf import units as dxf_units

NEAR = 0.02  # mm; coordinates are written with 16 digits, units and turns cost less than this
UNITS = [(dxf_units.MM, 1.0, "mm"), (dxf_units.CM, 10.0, "cm"), (dxf_units.M, 1000.0, "m"), (dxf_units.IN, 25.4, "in"), (dxf_units.FT, 304.8, "ft")]
LAYERS = """
outline = ["CUT", "Ausschnitt-Ü"]
ignore = ["WORDS"]
[[bend]]
layer = "UP"
direction = "up"
[[bend]]
layer = "UP-135"
direction = "up"
angle_deg = 135
[[bend]]
layer = "DOWN"
direction = "down"
radius_mm = 3
"""
ANGLE, RADIUS, THICKNESS = 90.0, 2.0, 1.5


class Pattern:
    """Corners counterclockwise, each with the bulge behind it; cut-outs; bends."""

    def __init__(self, length, width):
        self.size = (length, width)
        self.outline = []
        self.holes = []  # ("circle", x, y, r), ("slot", corners), ("ellipse", x, y, a, b)
        self.bends = []  # dict(along, at, layer, metal=[(from, to), ...])


def strip(chance):
    """Bends all along the sheet; notches and holes on some of the lines."""
    length = round(chance.uniform(150, 2500), 2)
    count = chance.randint(1, 6)
    steps = [round(chance.uniform(18, 80), 2) for _ in range(count + 1)]
    width = sum(steps)
    if width >= length:
        length = width + 50
    pattern = Pattern(length, width)
    right = [(length, 0.0)]
    at = 0.0
    for step in steps[:-1]:
        at += step
        metal = [(0.0, length)]
        if chance.random() < 0.35:
            depth = round(chance.uniform(3, 20), 2)
            high = round(chance.uniform(2, 6), 2)
            right += [(length, at - high), (length - depth, at - high), (length - depth, at + high), (length, at + high)]
            metal = [(0.0, length - depth)]
        left = 30.0
        while chance.random() < 0.4 and left < metal[0][1] - 80:
            across = round(chance.uniform(4, 30), 2)
            high = round(chance.uniform(2, 7), 2)
            kind = chance.choice(["circle", "slot", "ellipse"])
            middle = left + across
            if kind == "circle":
                radius = min(across, high)
                pattern.holes.append(("circle", middle, at, radius))
                cut = (middle - radius, middle + radius)
            elif kind == "ellipse":
                pattern.holes.append(("ellipse", middle, at, across, high))
                cut = (middle - across, middle + across)
            else:
                corners = [(middle - across, at - high), (middle + across, at - high), (middle + across, at + high), (middle - across, at + high)]
                pattern.holes.append(("slot", corners))
                cut = (middle - across, middle + across)
            last = metal.pop()
            metal += [(last[0], cut[0]), (cut[1], last[1])]
            left = cut[1] + 25
        layer = chance.choice(["UP", "UP", "DOWN", "UP-135"])
        pattern.bends.append(dict(along=True, at=at, layer=layer, metal=metal))
    right.append((length, width))
    corners = [(0.0, 0.0)] + right + [(0.0, width)]
    pattern.outline = [(x, y, 0.0) for x, y in corners]
    if chance.random() < 0.5:
        # A rounded corner at the origin: a quarter circle of bulge tan(90/4 degrees).
        radius = round(chance.uniform(2, 12), 2)
        pattern.outline[0:1] = [(0.0, radius, math.tan(math.radians(22.5))), (radius, 0.0, 0.0)]
    return pattern


def tray(chance):
    """Sides on two to four edges, corners cut out by squares or round reliefs; lips on the long ones."""
    length, width = round(chance.uniform(260, 1500), 2), round(chance.uniform(160, 255), 2)
    side = [round(chance.uniform(20, 45), 2) for _ in range(4)]  # a, b, c, d
    relief = chance.choice([0.0, 0.0, 1.0, 2.5])
    pattern = Pattern(length, width)
    a, b, c, d = side[0], width - side[1], side[2], length - side[3]
    r = relief
    pattern.outline = [
        (c + r, 0.0, 0.0), (d - r, 0.0, 0.0), (d - r, a + r, 0.0), (length, a + r, 0.0), (length, b - r, 0.0), (d - r, b - r, 0.0),
        (d - r, width, 0.0), (c + r, width, 0.0), (c + r, b - r, 0.0), (0.0, b - r, 0.0), (0.0, a + r, 0.0), (c + r, a + r, 0.0),
    ]
    layer = chance.choice(["UP", "UP", "UP-135"])
    for at in (a, b):
        pattern.bends.append(dict(along=True, at=at, layer=layer, metal=[(c + r, d - r)]))
    for at in (c, d):
        pattern.bends.append(dict(along=False, at=at, layer="UP", metal=[(a + r, b - r)]))
    if chance.random() < 0.4:
        lip = round(chance.uniform(8, 10), 2)
        pattern.bends.append(dict(along=True, at=lip, layer=layer, metal=[(c + r, d - r)]))
    if chance.random() < 0.5:
        pattern.holes.append(("circle", (c + d) / 2, (a + b) / 2, 20.0))
    return pattern


def placed(chance, unit_mm):
    """Where the pattern lies in the drawing, in the drawing's units."""
    turn = math.radians(chance.choice([0, 0, 90, 180, 270, round(chance.uniform(0, 360), 3)]))
    dx, dy = chance.uniform(-3000, 3000), chance.uniform(-3000, 3000)
    cos, sin = math.cos(turn), math.sin(turn)
    return lambda x, y: ((x * cos - y * sin + dx) / unit_mm, (x * sin + y * cos + dy) / unit_mm), turn


def write(pattern, chance, path):
    version = chance.choice(["R12", "R2000", "R2007", "R2010", "R2018"])
    number, unit_mm, unit = chance.choice(UNITS)
    doc = ezdxf.new(version)
    if version != "R12":  # which has no such variable
        doc.header["$INSUNITS"] = number
    doc.encoding = "utf-8"
    at, turn = placed(chance, unit_mm)
    space = doc.modelspace()
    in_block = chance.random() < 0.25
    if in_block:
        # The block lies elsewhere, smaller and turned; the insertion puts it right.
        block = doc.blocks.new("FLAT", base_point=(0, 0))
        factor, extra = chance.choice([0.5, 1.0, 4.0]), chance.choice([0.0, 90.0, 33.0])
        inner = math.radians(-extra)
        where = at

        def at(x, y):
            px, py = where(x, y)
            return ((px * math.cos(inner) - py * math.sin(inner)) / factor, (px * math.sin(inner) + py * math.cos(inner)) / factor)

        space.add_blockref("FLAT", (0, 0), dxfattribs=dict(xscale=factor, yscale=factor, rotation=extra, layer="CUT"))
        space, turn, unit_mm = block, turn + inner, unit_mm * factor
    cut = "0" if in_block and chance.random() < 0.5 else "CUT"
    old = version == "R12"
    mirrored = dict(extrusion=(0, 0, -1)) if chance.random() < 0.3 and not in_block else {}

    def corner(x, y):
        px, py = at(x, y)
        return (-px, py) if mirrored else (px, py)

    def sign(bulge):
        return -bulge if mirrored else bulge

    style = chance.choice(["one", "pieces", "pieces"])
    corners = pattern.outline
    if style == "one":
        points = [(*corner(x, y), sign(bulge)) for x, y, bulge in corners]
        if old or chance.random() < 0.3:
            space.add_polyline2d(points, format="xyb", close=True, dxfattribs=dict(layer=cut, **mirrored))
        else:
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=dict(layer=cut, **mirrored))
    else:
        pieces = list(zip(corners, corners[1:] + corners[:1]))
        chance.shuffle(pieces)
        for (x, y, bulge), (nx, ny, _) in pieces:
            if bulge:
                # A quarter circle to the left: its centre is at the corner of the square opposite.
                radius = abs(nx - x)
                cx, cy = max(x, nx), max(y, ny)
                start, end = math.degrees(turn) + 180, math.degrees(turn) + 270
                px, py = at(cx, cy)
                if mirrored:
                    px, start, end = -px, 180 - end, 180 - start
                space.add_arc((px, py), radius / unit_mm, start, end, dxfattribs=dict(layer=cut, **mirrored))
            else:
                ends = [at(x, y), at(nx, ny)]
                chance.shuffle(ends)
                space.add_line(*ends, dxfattribs=dict(layer=cut))
    holes = "CUT" if in_block or old or version == "R2000" else "Ausschnitt-Ü"
    for kind, *rest in pattern.holes:
        if kind == "circle":
            x, y, radius = rest
            if chance.random() < 0.5:
                px, py = corner(x, y)
                space.add_circle((px, py), radius / unit_mm, dxfattribs=dict(layer=holes, **mirrored))
            else:
                for start in (0, 180):
                    space.add_arc(at(x, y), radius / unit_mm, start, start + 180, dxfattribs=dict(layer=holes))
        elif kind == "ellipse" and not old:
            x, y, a, b = rest
            px, py = at(x, y)
            qx, qy = at(x + a, y)
            if a >= b:
                space.add_ellipse((px, py), (qx - px, qy - py), b / a, dxfattribs=dict(layer=holes))
            else:
                qx, qy = at(x, y + b)
                space.add_ellipse((px, py), (qx - px, qy - py), a / b, dxfattribs=dict(layer=holes))
        else:
            if kind == "ellipse":
                x, y, a, b = rest
                points = [(x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)]
            else:
                (points,) = rest
            points = [at(*point) for point in points]
            space.add_polyline2d(points, close=True, dxfattribs=dict(layer=holes))
    for bend in pattern.bends:
        pieces = bend["metal"]
        if chance.random() < 0.4:
            pieces = [(pieces[0][0], pieces[-1][1])]  # drawn through the cut-outs
        for start, end in pieces:
            slack = chance.choice([0.0, 0.0, 0.2, -0.2])
            ends = [(start - slack, bend["at"]), (end + slack, bend["at"])]
            if not bend["along"]:
                ends = [(y, x) for x, y in ends]
            ends = [at(*end) for end in ends]
            chance.shuffle(ends)
            if chance.random() < 0.2 and not old:
                space.add_lwpolyline(ends, dxfattribs=dict(layer=bend["layer"].lower()))
            else:
                space.add_line(*ends, dxfattribs=dict(layer=bend["layer"]))
    doc.modelspace().add_text("flat pattern, invented", dxfattribs=dict(layer="WORDS"))
    doc.saveas(path)
    return unit if version == "R12" else None


def expected(pattern):
    """Bends in the frame whose x runs along the longer side; two, as it may lie turned about."""
    length, width = pattern.size
    plain, about = [], []
    for bend in pattern.bends:
        across, along = (width, length) if bend["along"] else (length, width)
        metal = bend["metal"]
        row = dict(along=bend["along"], layer=bend["layer"], metal=sum(b - a for a, b in metal), pieces=len(metal))
        plain.append(dict(row, at=bend["at"], span=(metal[0][0], metal[-1][1])))
        about.append(dict(row, at=across - bend["at"], span=(along - metal[-1][1], along - metal[0][0])))
    return [plain, about]


def fits(answer, pattern, rows):
    length, width = pattern.size
    if abs(answer["blank_length_mm"] - length) > NEAR or abs(answer["blank_width_mm"] - width) > NEAR:
        return False
    rows = sorted(rows, key=lambda row: (not row["along"], row["at"]))
    lines = answer["lines"]
    if len(lines) != len(rows):
        return False
    for line, row in zip(lines, rows):
        same = line["along_longer_side"] == row["along"] and line["layer"] == row["layer"] and line["pieces"] == row["pieces"]
        pairs = [(line["position_mm"], row["at"]), (line["metal_mm"], row["metal"]), (line["from_mm"], row["span"][0]), (line["to_mm"], row["span"][1])]
        if not same or any(abs(a - b) > 0.05 * row["pieces"] for a, b in pairs):
            return False
        if abs(pairs[0][0] - pairs[0][1]) > NEAR:
            return False
    return True


def deduction(angle, radius):
    """DIN 6935 by its K-factor: outside setbacks less the arc in the neutral fibre [memory]."""
    k = min(1.0, 0.65 + 0.5 * math.log10(radius / THICKNESS))
    bent = math.radians(180 - angle)
    return 2 * (radius + THICKNESS) * math.tan(bent / 2) - bent * (radius + THICKNESS / 2 * k)


def legs_fit(answer):
    """The outside leg of each bend that is outermost on its edge, worked out here."""
    for bend in answer["bends"]:
        size = answer["blank_width_mm"] if bend["edge"] in "ab" else answer["blank_length_mm"]
        outer = lambda b: b["line_mm"] if b["edge"] in "ac" else size - b["line_mm"]
        less = deduction(bend["angle_deg"], bend["radius_mm"])
        if abs(less - bend["deduction_mm"]) > 1e-3:
            return f"bend {bend['bend']}: deduction {bend['deduction_mm']}, here {less}"
        beyond = [b for b in answer["bends"] if b["edge"] == bend["edge"] and outer(b) < outer(bend)]
        leg = outer(bend) + less / 2
        if beyond:
            last = max(beyond, key=outer)
            leg += deduction(last["angle_deg"], last["radius_mm"]) / 2 - outer(last)
        if abs(leg - bend["leg_mm"]) > 0.005:
            return f"bend {bend['bend']}: leg {bend['leg_mm']}, here {leg}"
    return None


def call(program, path, layers, unit=None):
    command = [program, "part", "tests/tiny-shop", "--dxf", str(path), "--layers", str(layers), "--id", "NEW-1", "--thickness", str(THICKNESS)]
    command += ["--material", "S235", "--angle", str(ANGLE), "--radius", str(RADIUS), "--json"]
    if unit:
        command += ["--units", unit]
    return subprocess.run(command, capture_output=True, timeout=60)


def refused(name, answer, may_pass=False):
    said = answer.stderr.decode("utf-8", "replace")
    codes = (0, 2) if may_pass else (2,)
    if answer.returncode not in codes or "panicked" in said:
        sys.exit(f"{name}: exit code {answer.returncode}, expected {codes}\n{said}")


def spoilt(good, chance):
    """Name, bytes, and whether the file may still be good by luck."""
    text = good.decode("utf-8")
    lines = text.splitlines(keepends=True)
    yield "nothing", b"", False
    yield "binary mark", b"\x00\x01" + good, False
    yield "UTF-16", text.encode("utf-16"), False
    yield "Latin-1", text.replace("flat pattern", "Kühlblech").encode("latin-1"), False
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr("flat.dxf", good)
    yield "packed", packed.getvalue(), False
    yield "too large", good + b"999\nfill\n" * (17 * 1024 * 1024 // 9), False
    for _ in range(12):
        yield "cut off", "".join(lines[: chance.randrange(len(lines) - 2)]).encode(), False
    ends = text.index("ENDSEC", text.index("\nENTITIES"))
    at = text.rindex("  0\n", 0, ends)

    def with_entity(groups):
        return (text[:at] + groups + text[at:]).encode()

    yield "count of corners", with_entity("  0\nLWPOLYLINE\n  8\nCUT\n 90\n2147483647\n 70\n1\n"), True
    yield "missing block", with_entity("  0\nINSERT\n  8\nCUT\n  2\nNOWHERE\n 10\n0\n 20\n0\n"), False
    for number in ("nan", "inf", "-inf", "1e308", "1e9", "0x10", "", "٣"):
        line = f"  0\nLINE\n  8\nCUT\n 10\n{number}\n 20\n0\n 11\n1\n 21\n1\n"
        yield f"number {number!r}", with_entity(line), False
    yield "spline", with_entity("  0\nSPLINE\n  8\nCUT\n 70\n8\n"), False
    blocks = text.index("\nBLOCKS\n") + len("\nBLOCKS\n")
    around = "  0\nBLOCK\n  8\n0\n  2\nROUND\n 10\n0\n 20\n0\n  0\nINSERT\n  8\nCUT\n  2\nROUND\n 10\n1\n 20\n1\n  0\nENDBLK\n  8\n0\n"
    put = "  0\nINSERT\n  8\nCUT\n  2\nROUND\n 10\n0\n 20\n0\n"
    yield "block in itself", (text[:blocks] + around + text[blocks:at] + put + text[at:]).encode(), False
    wide = ""
    for depth in range(4):
        inside = f"  0\nINSERT\n  8\nCUT\n  2\nW{depth + 1}\n 10\n1\n 20\n1\n" * 100 if depth < 3 else "  0\nLINE\n  8\nCUT\n 10\n0\n 20\n0\n 11\n1\n 21\n1\n" * 100
        wide += f"  0\nBLOCK\n  8\n0\n  2\nW{depth}\n 10\n0\n 20\n0\n{inside}  0\nENDBLK\n  8\n0\n"
    put = put.replace("ROUND", "W0")
    yield "blocks without end", (text[:blocks] + wide + text[blocks:at] + put + text[at:]).encode(), False
    for _ in range(60):
        spoilt = bytearray(good)
        for _ in range(chance.randint(1, 6)):
            spoilt[chance.randrange(len(spoilt))] = chance.choice(b"0123456789.-eE\nABZ\xff ")
        yield "bytes changed", bytes(spoilt), True


def main():
    args = argparse.ArgumentParser()
    args.add_argument("program")
    args.add_argument("--files", type=int, default=240)
    args.add_argument("--seed", type=int, default=1)
    args = args.parse_args()
    logging.getLogger("ezdxf").setLevel(logging.ERROR)
    folder = Path(tempfile.mkdtemp())
    layers = folder / "layers.toml"
    layers.write_text(LAYERS, encoding="utf-8")
    read = 0
    bends = 0
    for seed in range(args.seed, args.seed + args.files):
        chance = random.Random(seed)
        pattern = chance.choice([strip, strip, tray])(chance)
        path = folder / f"{seed}.dxf"
        answer = call(args.program, path, layers, write(pattern, chance, path))
        if answer.returncode != 0:
            sys.exit(f"seed {seed} ({path}): {answer.stderr.decode()}")
        found = json.loads(answer.stdout)
        if not any(fits(found, pattern, rows) for rows in expected(pattern)):
            sys.exit(f"seed {seed} ({path}): {json.dumps(found['lines'], indent=1)}\nexpected {json.dumps(expected(pattern)[0], indent=1)} in {pattern.size}")
        wrong = legs_fit(found)
        if wrong:
            sys.exit(f"seed {seed} ({path}): {wrong}")
        read += 1
        bends += len(found["bends"])
    print(f"{read} flat patterns, seeds {args.seed} to {args.seed + args.files - 1}, read back to the same {bends} bends and legs")
    count = 0
    for seed in range(args.seed, args.seed + 3):
        good = (folder / f"{seed}.dxf").read_bytes()
        for name, content, may_pass in spoilt(good, random.Random(seed)):
            path = folder / "spoilt.dxf"
            path.write_bytes(content)
            refused(f"seed {seed}, {name}", call(args.program, path, layers), may_pass)
            count += 1
    binary = folder / "binary.dxf"
    ezdxf.readfile(folder / f"{args.seed}.dxf").saveas(binary, fmt="bin")
    refused("binary", call(args.program, binary, layers))
    print(f"{count + 1} spoilt files met with words, none with a panic")


if __name__ == "__main__":
    main()
