"""Runs the program on a trial and takes the pieces out of the files it wrote, each in its own frame."""

import json
import subprocess
import tempfile
from pathlib import Path

import numpy as np

import drawings
from folds import Piece
from outside_bench import write_job
from wanted import Pose


def _run(binary, *arguments):
    return subprocess.run([str(binary), *arguments], capture_output=True, text=True, timeout=300)


def figures(answer):
    """Reported figures of a ``why`` answer by member and label."""
    found = {}
    for piece in answer.get("pieces", []):
        member = piece["address"].partition("/")[2]
        found.setdefault(member, {}).update({term["label"]: term["value"] for term in piece["terms"]})
    return found


def pieces(folder, tally, name):
    """Every piece of a lay in its own frame by member."""
    lay = json.loads((folder / "lay.json").read_text(encoding="utf-8"))
    rows = {row["address"]: row for row in lay["pieces"]}
    tally.check(not lay["left"], f"{name}: pieces left out: {lay['left']}")
    drawn = {}
    for file in sorted(folder.glob("*-knife*.svg")):
        page, other = drawings.read(file), drawings.read(file.with_suffix(".dxf"))
        alike(page, other, tally, f"{name}: {file.name}")
        for line in page.lines:
            if line.layer in ("EDGES", "CREASE") and line.title:
                drawn.setdefault(line.title, []).append(line)
    found = {}
    for address, lines in drawn.items():
        row = rows.get(address)
        if not tally.check(row is not None, f"{name}: {address} is cut and not in the lay"):
            continue
        pose = Pose(row["x"], row["y"], row["turn"], row["mirrored"])
        def own(points):
            return (np.asarray(points) - pose.moved) @ pose.turned
        outlines = [line for line in lines if line.layer == "EDGES"]
        if not tally.check(len(outlines) == 1 and outlines[0].closed,
            f"{name}: {address} has {len(outlines)} outlines"):
            continue
        creases = [own([a, b]) for line in lines if line.layer == "CREASE" for a,
            b in zip(line.points, line.points[1:])]
        found[address.partition("/")[2]] = Piece(own(outlines[0].points), creases)
    missing = sorted(set(rows) - set(drawn))
    tally.check(not missing, f"{name}: in the lay and not cut: {missing}")
    return found


def alike(page, other, tally, name):
    """Outlines and creases of the two files of a sheet: the same lines."""
    def rows(lines, layer):
        made = []
        for line in lines:
            if line.layer == layer:
                pairs = list(zip(line.points, np.roll(line.points, -1, axis=0)))[: None if line.closed else -1]
                made += [sorted((tuple(a), tuple(b))) for a, b in pairs]
        return np.array(sorted(made)).reshape(-1, 4)
    for layer in ("EDGES", "CREASE"):
        one, two = rows(page.lines, layer), rows(other.lines, layer)
        same = len(one) == len(two)
        if same and len(one):
            apart = np.abs(one[:, None, :] - two[None, :, :]).max(axis=2)
            turned = np.abs(one[:, None, :] - two[None, :, [2, 3, 0, 1]]).max(axis=2)
            same = float(np.minimum(apart, turned).min(axis=1).max()) <= 2e-4
        tally.check(same, f"{name}: the two kinds of file differ on {layer}")


def exact(answer):
    """Every piece by member to the last figure, out of a ``why`` answer; straight lines only."""
    found = {}
    for piece in answer.get("pieces", []):
        member, pattern = piece["address"].partition("/")[2], piece["pattern"]
        points = pattern["outline"].get("points")
        if points is not None and all(bulge == 0 for _, _, bulge in points):
            creases = [np.array([(a, b), (c, d)]) for a, b, c, d in pattern["creases"]]
            found[member] = Piece(np.array([(x, y) for x, y, _ in points]), creases)
    return found


def written(binary, case, tally):
    """``(pieces in the files, pieces to the last figure, figures)`` of a trial, or None."""
    with tempfile.TemporaryDirectory(prefix="fold-check-") as folder:
        write_job(Path(folder), "bellows", case.unit, {}, case.text(), {})
        cut = _run(binary, "cut", "-C", folder)
        lays = sorted(Path(folder).glob("out/lay-*"))
        if not tally.check(cut.returncode == 0 and lays,
            f"{case.name}: no cut files: {' '.join(cut.stderr.split())[:160]}"):
            return None
        why = _run(binary, "why", "it", "--json", "-C", folder)
        try:
            answer = json.loads(why.stdout)
        except ValueError:
            tally.check(False, f"{case.name}: why gives no JSON: {why.stderr.strip()[:200]}")
            return None
        return pieces(lays[0], tally, case.name), exact(answer), figures(answer)
