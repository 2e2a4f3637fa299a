"""Lays small random jobs and looks at each lay with another library: where every piece lies, and on what.

    python lay_check.py BINARY

For each job ``BINARY lay`` is run and lay.json is read; the shapes are worked out from the measures alone. Looked at: every piece
once, gap and kerf kept, on the sheet and off its flaws, turn by the grain and no further than it may lean, face, guests in
the holes that the lay names, grades and readings under each piece, pairs of facings on one grade, bed windows, dots.
Then the lay is spoilt in ways that must be found. 10 jobs, times ``POUCHWORK_TRIALS``; 20 is the full run. Ends with
``N passed, N failed``; the exit status is 1 where something failed.
"""

import copy
import json
import math
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

import lay_jobs
import windows
from cut_simulation import Placed, Tally, check_addresses, check_places, misplaced
from jobs import read_job
from lengths import length
from sheets import read_sheets
from wanted import Pose, pieces, placed

# A piece may touch what it must not lie on, and its curves are chords (mm).
TOUCH = 5e-3
# Two facings of a valve may differ by so much (mm): 2 thou.
ALIKE = 0.0508
SLIPS = ("moved onto another", "beyond the edge", "turned", "mirrored", "guest untold", "onto poor stuff", "lost", "twice")


class Lay:
    """A lay against the job it was made for."""

    def __init__(self, folder):
        self.job = read_job(folder)
        self.frames = [read_sheets(self.job, moved) for moved in (True, False)]
        self.wanted = pieces(self.job)
        top = tomllib.loads((Path(folder) / "job.toml").read_text(encoding="utf-8"))
        self.needs = {part["name"]: part for part in top["part"]}
        self.thick = {sheet["id"]: length(sheet["thickness"]) for _, sheet in self.job.sheets if "thickness" in sheet}

    def check(self, lay):
        """Every check of one record."""
        tally = Tally()
        check_addresses(lay, self.wanted, tally)
        by_sheet, under = {}, {}
        for row in lay["pieces"]:
            if row["address"] in self.wanted:
                by_sheet.setdefault(row["sheet"], []).append(row)
        for name, rows in by_sheet.items():
            sheet = self.frames[0][name]
            cutting = self.job.cutting("trial-calf", "laser")
            lying = [self.lie(row, sheet, tally) for row in rows]
            sheet = min((frame[name] for frame in self.frames), key=lambda one: len(misplaced(one, lying, cutting)))
            check_places(sheet, lying, cutting, tally)
            self.guests(lying, tally)
            for it in lying:
                under[it.row["address"]] = (name, *self.stuff(it, sheet, tally))
            parts = windows.of_sheet(lay, name)
            windows.check_windows(name, parts, lying, tally)
            windows.check_dots(name, sheet, lying, cutting, windows.dots_of(lay, name, None), tally)
        self.couples(lay, under, tally)
        return tally

    def lie(self, row, sheet, tally):
        """A piece in its place, its turn and face looked at on the way."""
        wanted = self.wanted[row["address"]]
        part, own = wanted.part, self.needs[wanted.part.name]
        off = (row["turn"] - sheet.grain) % 90
        off, turn = min(off, 90 - off), round((row["turn"] - sheet.grain) / 90) * 90 % 180
        leave = float(own.get("grain-within", 0))
        if (part.grain or sheet.woven) and not wanted.member.is_round() and leave < 45:
            tally.check(off < leave + 1e-6, f"{row['address']}: {off:.4f} degrees aslant, {leave} at most")
        if part.grain and not wanted.member.is_round():
            want = {"along": 0, "across": 90}[part.grain]
            tally.check(turn == want, f"{row['address']}: its length lies {turn} degrees to the grain, not {want}")
        back = bool(part.face and sheet.up and part.face != sheet.up)
        tally.check(row["mirrored"] == back, f"{row['address']}: shows the wrong face")
        pose = Pose(row["x"], row["y"], row["turn"], row["mirrored"], sheet.grain, part.stretch)
        shape, punches = placed(wanted.member, pose, self.job.smallest_hole(part.machine))
        return Placed(row, wanted, shape, punches, [])

    def guests(self, lying, tally):
        """A guest lies in a hole of the piece that the lay names, and what the lay calls none lies in none."""
        holes = {it.row["address"]: [Polygon(ring) for ring in it.shape.interiors] for it in lying}
        for it in lying:
            middle = it.shape.representative_point()
            around = [(hole.area, name) for name, own in holes.items() for hole in own if hole.contains(middle)]
            around = [one for one in around if one[1] != it.row["address"]]
            inner = min(around)[1] if around else None
            words = f"{it.row['address']}: lies in a hole of {inner}, the lay says {it.row.get('host')}"
            tally.check(it.row.get("host") == inner, words)

    def stuff(self, it, sheet, tally):
        """The grades and the thicknesses under a piece."""
        address, own = it.row["address"], self.needs[it.wanted.part.name]
        core = it.shape.buffer(-TOUCH)
        grades = {}
        rest = core
        for grade, line in reversed(sheet.zones):
            grades[grade] = grades.get(grade, 0) + rest.intersection(line).area
            rest = rest.difference(line)
        grades[sheet.grade] = grades.get(sheet.grade, 0) + rest.area
        found = {grade for grade, area in grades.items() if area > 1e-6}
        worst = own.get("grade", 4)
        tally.check(max(found) <= worst, f"{address}: lies on grades {sorted(found)}, takes {worst} at worst")
        thick = {mm for mm, cell in cells(sheet) if core.intersection(cell).area > 1e-6}
        if not sheet.readings and sheet.id in self.thick:
            thick = {self.thick[sheet.id]}
        least, most = (length(text) for text in own.get("from-thickness", ("0 mm", "100 mm")))
        good = all(least - 1e-6 <= mm <= most + 1e-6 for mm in thick)
        tally.check(good, f"{address}: lies on stuff of {sorted(thick)} mm, {least} to {most} wanted")
        return found, thick

    def couples(self, lay, under, tally):
        """The two facings of a valve: both or none, on one sheet, one grade and stuff that is alike."""
        left = {row["address"] for row in lay["left"]}
        for address in sorted(self.wanted):
            mate = address.replace("/outer", "/inner")
            if mate == address or mate not in self.wanted:
                continue
            both = [name in under for name in (address, mate)]
            tally.check(both[0] == both[1], f"{address} and its mate: only one lies; left out {sorted(left)}")
            if all(both):
                one, two = under[address], under[mate]
                thick = one[2] | two[2]
                tally.check(one[0] == two[0], f"{address} and its mate lie on two sheets")
                tally.check(len(one[1] | two[1]) == 1, f"{address} and its mate lie on grades {one[1]} and {two[1]}")
                alike = not thick or max(thick) - min(thick) <= ALIKE + 1e-6
                tally.check(alike, f"{address} and its mate lie on {sorted(thick)} mm")


def cells(sheet):
    """The ground nearest to each reading, as (mm, outline)."""
    x0, y0, x1, y1 = sheet.outline.bounds
    far = 4 * math.hypot(x1 - x0, y1 - y0)
    made = []
    for n, (x, y, mm) in enumerate(sheet.readings):
        cell = Polygon([(x - far, y - far), (x + far, y - far), (x + far, y + far), (x - far, y + far)])
        for m, (u, v, _) in enumerate(sheet.readings):
            way = np.array([u - x, v - y])
            if m == n or not way.any():
                continue
            way = way / np.hypot(*way)
            middle, along = np.array([(x + u) / 2, (y + v) / 2]), np.array([-way[1], way[0]])
            strip = [middle - far * along, middle + far * along, middle + far * (along - 2 * way), middle - far * (along + 2 * way)]
            cell = cell.intersection(Polygon(strip))
        made.append((mm, cell))
    return made


def spoil(lay, slip, it):
    """A record with a slip; none where it has nothing to be spoilt."""
    made = copy.deepcopy(lay)
    rows = made["pieces"]
    if slip == "guest untold":
        rows = [row for row in rows if row.get("host")]
    if slip in ("turned", "onto poor stuff"):
        rows = [row for row in rows if not it.wanted[row["address"]].member.is_round()]
        if slip == "turned":
            rows = [row for row in rows if it.wanted[row["address"]].part.grain]
        else:
            rows = [row for row in made["pieces"] if poor(it, row) is not None]
    if not rows or (slip == "moved onto another" and len(rows) < 2):
        return None
    row = rows[-1]
    if slip == "moved onto another":
        there = next((one for one in made["pieces"] if one["sheet"] == row["sheet"] and one is not row), None)
        if there is None:
            return None
        row.update(x=there["x"], y=there["y"])
    elif slip == "beyond the edge":
        row["x"] -= 2000
    elif slip == "turned":
        row["turn"] += 45
    elif slip == "mirrored":
        row["mirrored"] = not row["mirrored"]
    elif slip == "guest untold":
        row["host"] = None
    elif slip == "onto poor stuff":
        row["x"], row["y"] = poor(it, row)
    elif slip == "lost":
        made["pieces"].remove(row)
    elif slip == "twice":
        made["pieces"].append(dict(row))
    return made


def poor(it, row):
    """A point of ground that a piece does not take, if its sheet has some."""
    worst = it.needs[it.wanted[row["address"]].part.name].get("grade", 4)
    sheet = it.frames[0][row["sheet"]]
    if any(grade <= worst for grade, _ in sheet.zones):
        return None
    ground = unary_union([line for grade, line in sheet.zones if grade > worst]).intersection(sheet.outline)
    return None if ground.is_empty else ground.representative_point().coords[0]


def run(binary, seed, folder):
    """Makes and lays a job; gives what it is checked by, the record, and words where it failed."""
    lay_jobs.write(folder, seed)
    command = [binary, "lay", "--json", "--effort", "quick", "-C", str(folder)]
    ran = subprocess.run(command, capture_output=True, timeout=120, env={"HOME": str(folder)})
    record = folder / "out" / "lay-1" / "lay.json"
    if not record.exists():
        return None, None, f"exit {ran.returncode}: {' '.join(ran.stdout[-900:].decode().split())} {ran.stderr[-300:].decode()}"
    return Lay(folder), json.loads(record.read_text(encoding="utf-8")), None


def main():
    """The command line."""
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    binary = Path(sys.argv[1]).resolve()
    jobs = max(1, int(10 * float(os.environ.get("POUCHWORK_TRIALS", "1"))))
    passed, failures, count, left, slips = 0, [], 0, 0, dict.fromkeys(SLIPS, 0)
    for seed in range(jobs):
        with tempfile.TemporaryDirectory() as room:
            it, lay, words = run(binary, seed, Path(room) / "job")
            if words:
                failures.append(f"job {seed}: {words}")
                continue
            tally = it.check(lay)
            passed += tally.passed
            failures += [f"job {seed}: {words}" for words in tally.failures]
            count += len(lay["pieces"])
            left += len(lay["left"])
            for slip in SLIPS:
                spoilt = spoil(lay, slip, it)
                if spoilt is not None:
                    slips[slip] += 1
                    if it.check(spoilt).failures:
                        passed += 1
                    else:
                        failures.append(f"job {seed}: {slip}, and nothing was found")
    for failure in failures[:30]:
        print("FAILED", failure)
    if jobs >= 10:
        failures += [f"{slip}: never tried" for slip, times in slips.items() if not times]
    print(f"{jobs} jobs, {count} pieces laid, {left} left out; spoilt: {slips}")
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
