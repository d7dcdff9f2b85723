#!/usr/bin/env python3
"""Makes the one typeface of the program, QuietwaterSans, in two weights, and QuietwaterHan: the same letters
with Chinese. They are two files each because the window reads all outlines of a file before the first word.

Run by hand, in this folder, when a script or a symbol is to be added; the result is committed.

Sources, all SIL Open Font License 1.1 (see OFL.txt), from Debian 12 fonts-noto-core 20201225-1:
  NotoSans-Regular, NotoSans-Bold   2.004   Latin with Vietnamese, Greek, Cyrillic
  NotoSansMath-Regular              2.001   comparison and minus signs, arrows
  NotoSansSymbols2-Regular          2.003   ticks, crosses and shapes
  NotoSansDevanagari-Regular, -Bold 2.001   Devanagari
and from fonts-noto-cjk 20220127:
  NotoSansCJK-Regular, -Bold        2.004   the 6763 Chinese characters of GB 2312, with their punctuation
Tools: apt install fonts-noto-core fonts-noto-cjk python3-fonttools python3-shapely   (4.38.0, 1.8.5)

The Chinese outlines are cubic; the library that writes our PDFs knows only TrueType, so they become
quadratic curves, never further than TOLERANCE units from the original.

Noto has no bold weight of the two symbol fonts, so the bold symbols are their outlines grown by
GROW units on every side; a thin sign in front of a bold number would be easy to miss.

The family keeps its name, Noto Sans: no Noto copyright line declares a Reserved Font Name, so OFL
condition 3 does not ask for another. The version string tells the build apart from the original.
"""
import os
import tempfile

from fontTools import merge, subset
from fontTools.pens.basePen import BasePen
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables import otTables
from shapely.geometry import JOIN_STYLE, Polygon
from shapely.geometry.polygon import orient

SOURCE = os.environ.get("NOTO", "/usr/share/fonts/truetype/noto/")
HAN_SOURCE = os.environ.get("NOTO_CJK", "/usr/share/fonts/opentype/noto/")
SIMPLIFIED = 2  # which font of the collection: Japanese, Korean, simplified Chinese, …
GROW = 18
TOLERANCE = 1.0

TEXT = (
    set(range(0x0020, 0x007F)) | set(range(0x00A0, 0x0250)) |  # Latin
    set(range(0x02B0, 0x0370)) |                               # modifiers, combining marks
    set(range(0x0370, 0x0400)) | set(range(0x1F00, 0x2000)) |  # Greek
    set(range(0x0400, 0x0530)) |                               # Cyrillic
    set(range(0x1E00, 0x1F00)) |                               # Latin additional: Vietnamese
    set(range(0x2000, 0x2070)) | set(range(0x2070, 0x20C0)) |  # punctuation, small figures, money
    set(range(0x2100, 0x2190)) | {0xFFFD}                      # letterlike signs, fractions
)
DEVANAGARI = set(range(0x0900, 0x0980)) | {0x20B9, 0x25CC}
HAN = {
    ord(bytes((a, b)).decode("gb2312"))
    for a in (*range(0xA1, 0xA4), *range(0xB0, 0xF8)) for b in range(0xA1, 0xFF)
    if bytes((a, b)).decode("gb2312", "ignore")
} | set(range(0x3000, 0x3020)) | set(range(0xFF01, 0xFF61))
MATH = set(map(ord, "←↑→↓↔−≈≠≤≥"))
SHAPES = set(map(ord, "■□▲△▶▼▽◀◆◇○●☐☑☒⚠✓✗"))

LATIN_FEATURES = ["kern", "mark", "mkmk", "ccmp", "locl"]
INDIC_FEATURES = LATIN_FEATURES + """nukt akhn rphf rkrf pref blwf half pstf vatu cjct
    init pres abvs blws psts haln calt dist abvm blwm""".split()


def list_glyphs(coverage, font, ranges=otTables.Coverage.preWrite):
    """Writes a coverage as a list of glyphs, not as ranges: of several ranges, one of them wide, go-text
    v0.3.4 and v0.3.5 (which set our text) forget some, and pairs and marks stay where they were."""
    ids = font.getGlyphIDMany(coverage.glyphs or [])
    if ids != sorted(ids):
        return ranges(coverage, font)
    coverage.Format = 1
    return {"GlyphArray": coverage.glyphs}


otTables.Coverage.preWrite = list_glyphs


def cut(path, runes, out, features=LATIN_FEATURES, number=-1):
    """Keeps the runes of one source font, without hinting and with only the features we set text with."""
    options = subset.Options()
    options.layout_features = features
    options.font_number = number
    options.drop_tables += ["DSIG"]
    options.hinting = False
    options.name_IDs = ["*"]
    options.notdef_outline = True
    font = subset.load_font(path, options)
    missing = runes - set(font.getBestCmap())
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=runes)
    cutter.subset(font)
    if "CFF " in font:
        quadratic(font)
    font.save(out)
    return missing


def quadratic(font):
    """Turns cubic outlines into TrueType ones."""
    glyphs, order = font.getGlyphSet(), font.getGlyphOrder()
    glyf = newTable("glyf")
    glyf.glyphOrder, glyf.glyphs = order, {}
    for name in order:
        pen = TTGlyphPen(None)
        glyphs[name].draw(Cu2QuPen(pen, TOLERANCE, reverse_direction=True))
        glyf.glyphs[name] = pen.glyph()
    font["loca"], font["glyf"] = newTable("loca"), glyf
    maxp = font["maxp"]
    maxp.tableVersion = 0x00010000
    maxp.maxZones, maxp.maxComponentElements, maxp.maxComponentDepth = 1, 0, 0
    maxp.maxPoints = maxp.maxContours = maxp.maxCompositePoints = maxp.maxCompositeContours = 0
    maxp.maxTwilightPoints = maxp.maxStorage = maxp.maxFunctionDefs = maxp.maxInstructionDefs = 0
    maxp.maxStackElements = maxp.maxSizeOfInstructions = 0
    for table in ("CFF ", "VORG", "vhea", "vmtx", "BASE"):
        if table in font:
            del font[table]
    for name, (width, _) in list(font["hmtx"].metrics.items()):
        glyph = glyf.glyphs[name]
        glyph.recalcBounds(glyf)
        font["hmtx"][name] = (width, getattr(glyph, "xMin", 0))
    font.sfntVersion = "\000\001\000\000"
    font["post"].formatType = 3.0


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


def join(parts, weight, name, copyright):
    """Merges the parts under the name; measures and names are the first part's, the text font's."""
    font, base = merge.Merger().merge(parts), TTFont(parts[0])
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
            n.string = copyright
    font["head"].fontRevision = base["head"].fontRevision
    font["head"].created = font["head"].modified = base["head"].modified
    font.recalcTimestamp = False
    out = name + "-" + weight + ".ttf"
    font.save(out)
    print(out, os.path.getsize(out), "bytes,", len(font.getGlyphOrder()), "glyphs,", len(font.getBestCmap()), "runes")


def make(weight):
    with tempfile.TemporaryDirectory() as tmp:
        parts = [os.path.join(tmp, n) for n in ("text.ttf", "math.ttf", "shapes.ttf", "devanagari.ttf", "han.ttf")]
        absent = cut(SOURCE + "NotoSans-" + weight + ".ttf", TEXT, parts[0])
        had = TEXT - absent | MATH | SHAPES
        lost = cut(SOURCE + "NotoSansMath-Regular.ttf", MATH, parts[1])
        lost |= cut(SOURCE + "NotoSansSymbols2-Regular.ttf", SHAPES, parts[2])
        absent |= cut(SOURCE + "NotoSansDevanagari-" + weight + ".ttf", DEVANAGARI - had, parts[3], INDIC_FEATURES)
        lost |= cut(HAN_SOURCE + "NotoSansCJK-" + weight + ".ttc", HAN - had - DEVANAGARI, parts[4], [], SIMPLIFIED)
        if lost:
            raise SystemExit("no source has " + "".join(map(chr, lost)))
        if weight == "Bold":
            embolden(parts[1], MATH)
            embolden(parts[2], SHAPES)
        print(weight, "runes in no source:", len(absent))
        google = "Copyright 2015, 2017, 2018 Google LLC. All Rights Reserved."
        join(parts[:-1], weight, "QuietwaterSans", google)
        join(parts, weight, "QuietwaterHan", google + " (c) 2014-2021 Adobe (http://www.adobe.com/).")


for w in ("Regular", "Bold"):
    make(w)
