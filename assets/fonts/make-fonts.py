#!/usr/bin/env python3
"""Makes QuietwaterSans-Regular.ttf and QuietwaterSans-Bold.ttf, the one typeface of the program.

Run by hand, in this folder, when a script or a symbol is to be added; the result is committed.

Sources, all SIL Open Font License 1.1 (see OFL.txt), from Debian 12 fonts-noto-core 20201225-1:
  NotoSans-Regular, NotoSans-Bold   2.004   Latin with Vietnamese, Greek, Cyrillic
  NotoSansMath-Regular              2.001   comparison and minus signs, arrows
  NotoSansSymbols2-Regular          2.003   ticks, crosses and shapes
Tools: apt install fonts-noto-core python3-fonttools python3-shapely   (4.38.0, 1.8.5)

Noto has no bold weight of the two symbol fonts, so the bold symbols are their outlines grown by
GROW units on every side; a thin sign in front of a bold number would be easy to miss.

The family keeps its name, Noto Sans: no Noto copyright line declares a Reserved Font Name, so OFL
condition 3 does not ask for another. The version string tells the build apart from the original.
"""
import os
import tempfile

from fontTools import merge, subset
from fontTools.pens.basePen import BasePen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from shapely.geometry import JOIN_STYLE, Polygon
from shapely.geometry.polygon import orient

SOURCE = os.environ.get("NOTO", "/usr/share/fonts/truetype/noto/")
GROW = 18

TEXT = (
    set(range(0x0020, 0x007F)) | set(range(0x00A0, 0x0250)) |  # Latin
    set(range(0x02B0, 0x0370)) |                               # modifiers, combining marks
    set(range(0x0370, 0x0400)) | set(range(0x1F00, 0x2000)) |  # Greek
    set(range(0x0400, 0x0530)) |                               # Cyrillic
    set(range(0x1E00, 0x1F00)) |                               # Latin additional: Vietnamese
    set(range(0x2000, 0x2070)) | set(range(0x2070, 0x20C0)) |  # punctuation, small figures, money
    set(range(0x2100, 0x2190)) | {0xFFFD}                      # letterlike signs, fractions
)
MATH = set(map(ord, "←↑→↓↔−≈≠≤≥"))
SHAPES = set(map(ord, "■□▲△▶▼▽◀◆◇○●☐☑☒⚠✓✗"))


def cut(name, runes, out):
    """Keeps the runes of one source font, without hinting and with only the features we set text with."""
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.drop_tables += ["DSIG"]
    options.hinting = False
    options.name_IDs = ["*"]
    options.notdef_outline = True
    font = subset.load_font(SOURCE + name + ".ttf", options)
    missing = runes - set(font.getBestCmap())
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=runes)
    cutter.subset(font)
    font.save(out)
    return missing


class Flatten(BasePen):
    """Collects a glyph's contours as closed polygons, curves in small steps."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.rings = []

    def _moveTo(self, p):
        self.rings.append([p])

    def _lineTo(self, p):
        self.rings[-1].append(p)

    def _qCurveToOne(self, c, p):
        a = self._getCurrentPoint()
        for i in range(1, 9):
            t = i / 8
            self.rings[-1].append(tuple((1 - t) ** 2 * a[k] + 2 * t * (1 - t) * c[k] + t * t * p[k] for k in (0, 1)))


def signed_area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1])) / 2


def embolden(path, runes):
    """Grows the outlines of the runes by GROW units; TrueType fills are the clockwise contours."""
    font = TTFont(path)
    glyphs, cmap = font.getGlyphSet(), font.getBestCmap()
    for rune in sorted(runes):
        name = cmap[rune]
        pen = Flatten(glyphs)
        glyphs[name].draw(pen)
        shape = Polygon()
        for ring in sorted(pen.rings, key=lambda r: -abs(signed_area(r))):  # from the outside in
            part = Polygon(ring).buffer(0)
            shape = shape.union(part) if signed_area(ring) < 0 else shape.difference(part)
        shape = shape.buffer(GROW, join_style=JOIN_STYLE.mitre, mitre_limit=2).simplify(0.7)
        out = TTGlyphPen(None)
        for part in getattr(shape, "geoms", [shape]):
            part = orient(part, -1)
            for ring in [part.exterior, *part.interiors]:
                points = [(round(x), round(y)) for x, y in ring.coords[:-1]]
                out.moveTo(points[0])
                for p in points[1:]:
                    out.lineTo(p)
                out.closePath()
        glyph = out.glyph()
        glyph.recalcBounds(font["glyf"])
        font["glyf"][name] = glyph
        width, _ = font["hmtx"][name]
        font["hmtx"][name] = (width, glyph.xMin)
    font.save(path)


def make(weight):
    with tempfile.TemporaryDirectory() as tmp:
        parts = [os.path.join(tmp, n) for n in ("text.ttf", "math.ttf", "shapes.ttf")]
        absent = cut("NotoSans-" + weight, TEXT, parts[0])
        lost = cut("NotoSansMath-Regular", MATH, parts[1]) | cut("NotoSansSymbols2-Regular", SHAPES, parts[2])
        if lost:
            raise SystemExit("no source has " + "".join(map(chr, lost)))
        if weight == "Bold":
            embolden(parts[1], MATH)
            embolden(parts[2], SHAPES)
        font = merge.Merger().merge(parts)
        base = TTFont(parts[0])
        for table in ("OS/2", "hhea"):  # line height and weight are the text font's, not the tallest symbol's
            new, old = font[table], base[table]
            for field in ("ascent", "descent", "lineGap", "sTypoAscender", "sTypoDescender", "sTypoLineGap",
                          "usWinAscent", "usWinDescent", "usWeightClass", "fsSelection", "sxHeight", "sCapHeight"):
                if hasattr(old, field):
                    setattr(new, field, getattr(old, field))
        names = font["name"]
        names.names = base["name"].names
        for n in list(names.names):
            if n.nameID in (3, 5):
                n.string = "2.004;Quietwater build;NotoSans-" + weight if n.nameID == 3 else "Version 2.004; Quietwater subset with symbols"
            if n.nameID == 0:
                n.string = "Copyright 2015, 2017, 2018 Google LLC. All Rights Reserved."
        font["head"].fontRevision = base["head"].fontRevision
        font["head"].created = font["head"].modified = base["head"].modified
        font.recalcTimestamp = False
        out = "QuietwaterSans-" + weight + ".ttf"
        font.save(out)
        print(out, os.path.getsize(out), "bytes,", len(font.getGlyphOrder()), "glyphs,", len(font.getBestCmap()),
              "runes; not in the source:", len(absent))


for w in ("Regular", "Bold"):
    make(w)
