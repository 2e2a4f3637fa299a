#!/usr/bin/env python3
"""Measures paper templates as a printer would draw them, with readers that are not ours.

    python3 template_check.py BINARY JOB

- pdfinfo and pypdf both open the file and agree on its pages; A4 is 210 by 297 mm (ISO 216), letter paper 8.5 by 11 in;
  `/PrintScaling /None` (ISO 32000-1:2008, table 150); no font, no date.
- Drawn by pdftoppm at 300 dots to the inch, every rule of 100 mm is 100 mm long within a dot, across and up; one that
  was corrected for 99.4 and 99.7 mm is longer by just that.
- Every round pattern has the diameter that its measures come to, worked out in Python.
- Tiles put together by their marks alone come to the size of the part, and lines run on from one tile to the next.

Needs: pdftoppm and pdfinfo (poppler-utils), numpy, pypdf, and what `wanted.py` needs.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from pypdf import PdfReader
from pypdf.generic import ContentStream

from jobs import read_job
from wanted import pieces

DPI = 300
DOTS = DPI / 25.4
POINTS = 72 / 25.4
# ISO 216, and 8.5 by 11 in.
PAPERS = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}
# Weight of a line to be cut (mm), and radius of the circle of a mark.
CUT = 0.25
MARK = 2.0
passed = 0
failed = 0


def check(good, words):
    """Counts one check and prints it when it fails."""
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print("FAILED:", words)
    return good


def made(binary, job, file, *words):
    """The answer of the program, which has written the file."""
    call = [binary, "template", "-C", str(job), "--json", "--out", str(file), *words]
    return json.loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)


def page_image(file, page):
    """A page as shades of grey, the first row uppermost."""
    call = ["pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), str(file)]
    raw = subprocess.run(call, check=True, capture_output=True).stdout
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    wide, high = int(head[1]), int(head[2])
    return np.frombuffer(raw, np.uint8, wide * high, head.end()).reshape(high, wide)


def runs(line):
    """Starts and ends of what is dark in a row of dots."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], line.astype(np.int8), [0]))))
    return list(zip(edges[::2], edges[1::2]))


def rules(image, scale):
    """Lengths (dots) of the rules of 100 mm that lie across an image.

    A rule is known by its base, which is 4 in long; 100 mm are from its first to its third high tick. Where two rules
    share their corner, the tick of the other one lengthens the base at its beginning, by 4 mm at most.
    """
    dark = image < 128
    base = 4 * DPI * scale
    found = []
    last = -100
    for y in range(len(dark)):
        for start, end in runs(dark[y]):
            if not base - 8 <= end - start <= base + 4 * DOTS + 8 or y - last < 10:
                continue
            last = y
            start = max(start, round(end - base))
            row = dark[y - round(2.3 * DOTS), start - 4:end + 4]
            ticks = [(a + b) / 2 for a, b in runs(row) if b - a < 6]
            if len(ticks) >= 3:
                found.append(ticks[2] - ticks[0])
    return found


def papers(binary, job, folder):
    """Boxes, preferences and rules on both papers."""
    for name, size in PAPERS.items():
        file = folder / f"{name}.pdf"
        answer = made(binary, job, file, "--paper", name)
        told = subprocess.run(["pdfinfo", str(file)], check=True, capture_output=True, text=True).stdout
        reader = PdfReader(file)
        pages = int(re.search(r"Pages:\s+(\d+)", told)[1])
        check(pages == len(reader.pages) == answer["pages"], f"{name}: pages differ")
        wide, high = map(float, re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", told).groups())
        check(abs(wide - size[0] * POINTS) < 0.01 and abs(high - size[1] * POINTS) < 0.01, f"{name}: page of {wide} x {high}")
        root = reader.trailer["/Root"]
        check(root["/ViewerPreferences"]["/PrintScaling"] == "/None", f"{name}: may be fitted to the page")
        check("/CreationDate" not in (reader.metadata or {}), f"{name}: has a date")
        for page in reader.pages:
            box = [float(v) / POINTS for v in page.mediabox]
            check(abs(box[2] - size[0]) < 1e-3 and abs(box[3] - size[1]) < 1e-3, f"{name}: a page of {box}")
            check("/Font" not in page.get("/Resources", {}), f"{name}: a font")
        for page in (1, pages):
            image = page_image(file, page)
            across = rules(image, 1.0)
            check(len(across) == (2 if page == 1 else 1), f"{name}: {len(across)} rules across on page {page}")
            # Up: ticks stand to the left, so the page is turned until they stand up.
            up = rules(np.rot90(image, -1), 1.0) if page == 1 else []
            check(page > 1 or len(up) == 1, f"{name}: {len(up)} rules up")
            for length in across + up:
                check(abs(length - 100 * DOTS) <= 1, f"{name}: a rule of {length / DOTS:.3f} mm on page {page}")


def corrected(binary, job, folder):
    """Rules drawn longer by what a printer takes off."""
    file = folder / "corrected.pdf"
    made(binary, job, file, "--rule-x", "99.4 mm", "--rule-y", "99.7 mm")
    image = page_image(file, 1)
    cases = (
        (rules(image, 100 / 99.4), 99.4),
        (rules(np.rot90(image, -1), 100 / 99.7), 99.7),
    )
    for found, wanted in cases:
        check(found, f"no rule corrected for {wanted}")
        for length in found:
            check(abs(length * wanted / 100 - 100 * DOTS) <= 1, f"corrected for {wanted}: {length / DOTS:.3f} mm")


def address(name):
    """The first piece that a drawing stands for: `facing:1-11, 13/outer` is `facing:1/outer`."""
    part, rest = name.split(":", 1)
    number = re.match(r"\d+", rest)[0]
    member = re.search(r"/([a-z-]+)(?: (\d+))?", rest)
    if not member:
        return f"{part}:{number}"
    return f"{part}:{number}/{member[1]}" + (f"-{member[2]}" if member[2] else "")


def wanted_members(job):
    """Members by address, those that no growth and no trim changes."""
    found = {}
    for name, piece in pieces(read_job(job)).items():
        if tuple(piece.part.stretch) == (0.0, 0.0) and piece.member.trim == 0:
            found[name] = piece.member
    return found


def round_ones(job, file, answer):
    """Diameters of round patterns, by the dots of their line."""
    wanted = wanted_members(job)
    images = {}
    count = 0
    for drawing in answer["drawings"]:
        member = wanted.get(address(drawing["name"]))
        if member is None or member.round_at is None or drawing["pages"][0]["tile"]:
            continue
        there = drawing["pages"][0]
        image = images.setdefault(there["page"], page_image(file, there["page"]))
        x0, y0, x1, y1 = (v * DOTS for v in there["box"])
        pad = round(0.8 * DOTS)
        high = len(image)
        crop = image[round(high - y1) - pad:round(high - y0) + pad, round(x0) - pad:round(x1) + pad]
        diameter = 2 * member.round_at[2]
        # Dots count by how dark they are: along the middle, from the outer side of the line to its outer side.
        for way, words in ((crop, "wide"), (crop.T, "high")):
            dark = (way < 128).any(axis=0)
            length = np.flatnonzero(dark)[-1] - np.flatnonzero(dark)[0] + 1
            off = length - (diameter + CUT) * DOTS
            check(abs(off) <= 1.5, f"{drawing['name']}: {words} by {off:.2f} dots too much")
        count += 1
    check(count > 3, f"only {count} round patterns")


def drawn(reader, page):
    """Paths of a page (mm): colour, weight, whether dashed, points, how many curves."""
    content = ContentStream(reader.pages[page - 1].get_contents(), reader)
    paths, points, curves = [], [], 0
    colour, weight, dashed = None, 0.0, False
    for words, sign in content.operations:
        values = [float(v) for v in words] if sign in (b"m", b"l", b"c", b"w", b"RG") else words
        if sign == b"RG":
            colour = tuple(values)
        elif sign == b"w":
            weight = values[0]
        elif sign == b"d":
            dashed = len(words[0]) > 0
        elif sign in (b"m", b"l"):
            points.append(values)
        elif sign == b"c":
            points.append(values[4:])
            curves += 1
        elif sign in (b"S", b"s", b"f", b"f*"):
            if sign in (b"S", b"s") and points:
                paths.append((colour, weight, dashed, np.array(points), curves))
            points, curves = [], 0
    return paths


def marks(paths):
    """Centres of the circles of marks, by x and y: the left, right, lower and upper line of them."""
    centres = []
    for _, _, _, points, curves in paths:
        size = points.max(axis=0) - points.min(axis=0)
        if curves >= 4 and np.allclose(size, 2 * MARK, atol=2e-3):
            centres.append((points.max(axis=0) + points.min(axis=0)) / 2)
    # A hole of 4 mm looks alike: the marks are the outermost.
    centres = np.array(centres)
    return centres.min(axis=0), centres.max(axis=0)


def together(job, file, answer):
    """Tiles joined by their marks: size of the whole, and lines that run on."""
    wanted = wanted_members(job)
    reader = PdfReader(file)
    count = 0
    for drawing in answer["drawings"]:
        member = wanted.get(address(drawing["name"]))
        tiles = {t["tile"]: t for t in drawing["pages"] if t["tile"]}
        if member is None or len(tiles) < 2:
            continue
        count += 1
        ends = []
        spots = {}
        for name, tile in tiles.items():
            row, column = ord(name[0]) - ord("A"), int(name[1:]) - 1
            paths = drawn(reader, tile["page"])
            low, high = marks(paths)
            step = high - low
            by = np.array([column * step[0] - low[0], -row * step[1] - high[1]])
            spots[row, column] = (tile["page"], low, high)
            lines = [p for c, w, d, p, _ in paths if c == (0.0, 0.0, 0.0) and abs(w - CUT) < 1e-6 and not d]
            ends.extend(p + by for p in lines)
        points = np.concatenate(ends)
        size = sorted(points.max(axis=0) - points.min(axis=0))
        true = sorted(np.ptp(np.asarray(member.outline), axis=0))
        check(np.allclose(size, true, atol=0.02), f"{drawing['name']}: joined {size}, wanted {true}")
        run_on(file, drawing["name"], spots)
    check(count > 0, "no part in tiles")


def run_on(file, name, spots):
    """Dark dots beside the line of marks are the same on both tiles that share it, from mark to mark.

    They are taken 4.5 mm off: clear of the marks themselves, and still within what the tiles share.
    """
    off = 4.5
    for (row, column), (page, low, high) in spots.items():
        for way in ((row, column + 1), (row + 1, column)):
            if way not in spots:
                continue
            other, low_other, high_other = spots[way]
            one, two = page_image(file, page), page_image(file, other)
            if way[0] == row:
                lines = (one[:, round((high[0] + off) * DOTS)], two[:, round((low_other[0] + off) * DOTS)])
                ends = (len(one) - high[1] * DOTS, len(one) - low[1] * DOTS)
            else:
                lines = (one[round(len(one) - (low[1] - off) * DOTS)], two[round(len(two) - (high_other[1] - off) * DOTS)])
                ends = (low[0] * DOTS, high[0] * DOTS)
            middles = [[float(a + b) / 2 for a, b in runs(line < 60)] for line in lines]
            found = [[m for m in line if ends[0] + off * DOTS < m < ends[1] - off * DOTS] for line in middles]
            good = len(found[0]) == len(found[1]) and all(abs(a - b) <= 1.5 for a, b in zip(*found))
            check(good, f"{name}: lines do not run on from {(row, column)} to {way}: {found}")


def main(arguments):
    """Exit code 1 if anything failed."""
    if len(arguments) != 2:
        print(__doc__)
        return 2
    binary, job = arguments
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        papers(binary, job, folder)
        corrected(binary, job, folder)
        file = folder / "all.pdf"
        answer = made(binary, job, file)
        round_ones(job, file, answer)
        together(job, file, answer)
    print(f"templates of {Path(job).name}: {passed} checks good, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
