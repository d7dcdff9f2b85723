#!/usr/bin/env python3
"""Draws the rail pictures (pictures/*.svg), the leaf marks (leaves/*.svg) and renders icon.png from icon.svg.

Run by hand, in this folder, after changing a drawing; the result is committed.
Tools: apt install python3-shapely librsvg2-bin

A drawing is strokes two units thick in a field of 24 by 24, laid down here as lines and arcs. It is
written as one filled outline, because the window's toolkit recolours fills and leaves strokes as they are.
"""
import math
import subprocess

from shapely.affinity import rotate, scale, translate
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

INK = "#16242E"
STROKE = 2


def arc(x, y, r, start, end):
    """Points on a circle; degrees, clockwise from the right, as the eye sees it."""
    n = max(8, int(abs(end - start) / 6))
    return [(x + r * math.cos(math.radians(start + (end - start) * i / n)),
             y + r * math.sin(math.radians(start + (end - start) * i / n))) for i in range(n + 1)]


def curve(a, b, c, d, n=24):
    """Points on a cubic Bézier curve."""
    return [tuple((1 - t) ** 3 * a[k] + 3 * (1 - t) ** 2 * t * b[k] + 3 * (1 - t) * t * t * c[k] + t ** 3 * d[k]
                  for k in (0, 1)) for t in (i / n for i in range(n + 1))]


def stroke(points, width=STROKE):
    return LineString(points).buffer(width / 2, resolution=10)


def ring(x, y, r, width=STROKE):
    return stroke(arc(x, y, r, 0, 360), width)


def disc(x, y, r):
    return Point(x, y).buffer(r, resolution=10)


def rounded(x0, y0, x1, y1, r):
    """The outline of a rectangle with round corners."""
    return stroke(arc(x1 - r, y1 - r, r, 0, 90) + arc(x0 + r, y1 - r, r, 90, 180) +
                  arc(x0 + r, y0 + r, r, 180, 270) + arc(x1 - r, y0 + r, r, 270, 360) + [(x1, y1 - r)])


def write(path, *parts):
    shape = unary_union(parts).simplify(0.012)
    d = []
    for part in getattr(shape, "geoms", [shape]):
        part = orient(part, 1)
        for r in [part.exterior, *part.interiors]:
            d.append("M" + "L".join("%g %g" % (round(x, 2), round(y, 2)) for x, y in r.coords[:-1]) + "Z")
    with open(path, "w") as f:
        f.write('<svg xmlns="http://www.w3.org/2000/svg" width="24" height="24" viewBox="0 0 24 24">'
                '<path fill="%s" d="%s"/></svg>\n' % (INK, "".join(d)))


def blade(x, y, size):
    """Our leaf, filled: one side full, the other flatter, tip up to the right. Size 20 fills the field."""
    k = size / 20
    tip, foot = (20.5, 2.5), (5, 19)
    edge = curve(foot, (-1, 9), (8, 1.5), tip) + curve(tip, (22.5, 12), (16, 22), foot)[1:]
    return Polygon([((px - 12) * k + x, (py - 12) * k + y) for px, py in edge])


def rail():
    # Today: the sun coming out of still water.
    write("pictures/today.svg", stroke(arc(12, 15, 5, 180, 360)), stroke([(2, 15), (22, 15)]),
          stroke([(7, 20), (17, 20)]), stroke([(12, 3), (12, 5.5)]),
          stroke([(3.6, 6.6), (5.3, 8.3)]), stroke([(20.4, 6.6), (18.7, 8.3)]))
    # Timeline: points joined over a base line, as our charts draw them.
    write("pictures/timeline.svg", stroke([(2.5, 21), (21.5, 21)]), ring(4.8, 13.6, 2.4), ring(12, 5.4, 2.4), ring(19.2, 11.4, 2.4),
          stroke([(6.4, 11.8), (10.4, 7.2)]), stroke([(13.8, 6.9), (17.4, 9.9)]))
    # Kidney numbers: the pair of kidneys.
    kidney = stroke(curve((9, 9.6), (10.8, 7.4), (10.2, 3), (6.6, 3)) + curve((6.6, 3), (2.6, 3), (1.8, 8), (2.2, 11.5))[1:] +
                    curve((2.2, 11.5), (2.6, 15), (4.4, 18), (7, 17.4))[1:] + curve((7, 17.4), (9.6, 16.8), (9.6, 13.6), (8.4, 12))[1:] +
                    curve((8.4, 12), (7.8, 11.2), (8.2, 10.4), (9, 9.6))[1:])
    tube = stroke(curve((8.6, 10.9), (10.4, 11.4), (10.5, 14), (10.5, 21)))
    half = unary_union([kidney, tube])
    write("pictures/numbers.svg", half, scale(half, -1, 1, origin=(12, 0)))
    # Supplies: a canister and one strip with its pads.
    write("pictures/supplies.svg", rounded(3, 8, 13, 21, 2), stroke([(3, 4), (13, 4)], 3), stroke([(3, 13), (13, 13)]),
          stroke([(18, 3.2), (21, 3.2), (21, 21), (17, 21), (17, 3.2), (18, 3.2)]),
          box(17, 5.5, 21, 8), box(17, 10, 21, 12.5), box(17, 14.5, 21, 17))
    # For the doctor: a stethoscope.
    write("pictures/doctor.svg", stroke([(6, 3), (4, 3), (4, 8)] + arc(8.5, 8, 4.5, 180, 0) + [(13, 3), (11, 3)]),
          stroke([(8.5, 12.5)] + arc(13.5, 16, 5, 180, 0) + [(18.5, 12)]), ring(18.5, 9.8, 2.2))
    # Household: a house that keeps a leaf.
    write("pictures/household.svg", stroke([(2.5, 11.5), (12, 3), (21.5, 11.5)]),
          stroke([(5, 10), (5, 21), (19, 21), (19, 10)]), blade(12, 14.6, 8))
    # Help: the question, asked inside a calm ring.
    write("pictures/help.svg", ring(12, 12, 9.5),
          stroke(arc(12, 9.6, 3, 180, 360) + curve((15, 9.6), (15, 11.6), (12, 11.6), (12, 14))[1:]), disc(12, 17.4, 1.35))


def leaves():
    whole = blade(12, 12, 18)
    rim = whole.exterior.buffer(1)
    stalk = stroke([(2, 22), (5.7, 18.3)])
    vein = LineString([(3, 21), (19.6, 3.6)])

    def inside(*parts):
        return unary_union(parts).intersection(whole)

    def leaf(i, *parts):
        write("leaves/%d.svg" % i, rim, stalk, *([inside(*parts)] if parts else []))

    def hatch(angle, gap, width):
        lines = [stroke([(-20, 12 + k * gap), (44, 12 + k * gap)], width) for k in range(-6, 7)]
        return rotate(unary_union(lines), angle, origin=(12, 12))

    leaf(0)
    ribs = [stroke([(x, y), (x + dx, y + dy)], 1.7) for x, y in ((8.6, 15.1), (13, 10.4))
            for dx, dy in ((0.4, -9), (9, 0.4))]
    leaf(1, stroke(vein.coords, 1.7), *ribs)
    leaf(2, *[disc(x, y, 1.5) for x, y in ((8, 9.2), (12.4, 6.2), (8.2, 14), (12.4, 11), (16.8, 8), (12.2, 15.6), (16.4, 12.6))])
    leaf(3, hatch(0, 4.6, 2.2))
    leaf(4, hatch(5, 5.2, 1.3), hatch(95, 5.2, 1.3))
    side = Polygon([(3, 21), (19.6, 3.6), (30, 10), (20, 30)])
    leaf(5, side)
    leaf(6, ring(11.6, 11.6, 3.4, 2))
    wave = [(x / 4, 1.3 * math.sin(x / 4 * 0.8)) for x in range(0, 97)]
    leaf(7, *[translate(stroke(wave, 1.8), 0, 7.6 + k * 5) for k in range(0, 3)])


rail()
leaves()
subprocess.run(["rsvg-convert", "-w", "512", "-h", "512", "-o", "icon.png", "icon.svg"], check=True)
