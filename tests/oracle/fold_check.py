"""Folds every bellows cloth, as it was written into the cut files, onto its boards: open and shut.

    python fold_check.py BINARY
    python fold_check.py --self

The first makes a small job for every trial of ``folds_cases.py``, runs ``BINARY cut`` and ``BINARY why``, takes the
pieces out of the written files and folds them, and folds them again to the last figure as ``why --json`` gives them. The second tries the folding itself on stand-in blanks, on spoilt ones
that must be found, and on worked values. Ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import sys
from math import degrees, sin
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

import folds_parts
from folds import Tally
from folds_box import most_rib_angle
from folds_cases import CASES

PASCAL = 249.0889
# Files have four decimals: a place is right within this (mm), and places nearer than NEAR are one.
WRITTEN, NEAR = 1.5e-4, 2e-3
# The same for shapes that were never written.
EXACT, SAME = 1e-9, 1e-7


class Trial:
    """One bellows: pieces by member, figures by member and label."""

    def __init__(self, case, pieces, said, tally, tight=WRITTEN, near=NEAR):
        self.case, self.pieces, self.figures, self.tally = case, pieces, said, tally
        self.tight, self.near = tight, near

    def said(self, label, member=None):
        """A reported figure: of the member where one is named, else of the first piece that has it."""
        for name in [member] if member else sorted(self.figures):
            if label in self.figures.get(name, {}):
                return self.figures[name][label]
        return None

    def compare(self, name, label, measured, off, member=None, must=True):
        """A reported figure against what was measured on the folded cloth, and with the exact model behind it."""
        said = self.said(label, member)
        if said is not None or must:
            self.tally.near(f"{name}: {label}", said, measured, off, 1e-9)

    def run(self):
        for member, model in self.case.models().items():
            name = self.case.name + (f", {member} wedge" if member else "")
            wanted = ["side-1", "side-2", "end"] if self.case.form == "pieces" else [member or ""]
            if self.case.form == "pieces" and self.case.boards == "parallel":
                wanted = ["side-1", "side-2", "end-1", "end-2"]
            missing = [word for word in wanted if word not in self.pieces]
            if not self.tally.check(not missing, f"{name}: lacks pieces {missing}, has {sorted(self.pieces)}"):
                continue
            if self.case.boards == "parallel":
                self.box(name, model)
            else:
                self.wedge(name, model, member)

    def lying(self, model):
        """The pieces in the frame of the development: creases of all, outlines by panel."""
        half = model.width / 2
        if self.case.form != "pieces":
            whole = self.pieces[model.member or ""]
            return list(whole.creases), {"side": whole, "end": whole}
        if self.case.boards == "wedge":
            parts = {
                "side": self.pieces["side-1"].moved(half), "second side": self.pieces["side-2"].moved(-half, True),
                "end": self.pieces["end"],
            }
            joints = (half, -half)
        else:
            middle = half + model.length / 2
            parts = {
                "side": self.pieces["side-1"].moved(middle), "second side": self.pieces["side-2"].moved(-middle, True),
                "end": self.pieces["end-1"], "second end": self.pieces["end-2"].moved(middle + model.length / 2 + half),
            }
            joints = (half, -half, half + model.length)
        creases = [crease for part in parts.values() for crease in part.creases]
        if model.rib is None:
            creases += [np.array([(x, -model.span / 2), (x, model.span / 2)]) for x in joints]
        return creases, parts

    def wedge(self, name, model, member):
        case, tally = self.case, self.tally
        model.member = member
        creases, parts = self.lying(model)
        sheets = model.sheets(creases, self.near)
        outlines = {key: part.outline for key, part in parts.items()}
        trim = case.mm(case.trim)
        model.check_cloth(tally, name, outlines.values(), self.tight)
        model.check_open(tally, name, sheets, outlines, self.tight, trim)
        self.round_the_boards(name, model, parts, member)
        self.no_glue(name, model, sheets)
        side = Polygon(outlines["side"])
        high = max(p[1] for p in np.asarray(outlines["end"])
            if abs(abs(p[0]) - model.width / 2) <= self.near or case.form == "strip")
        surplus, lack = model.margin_misfit(1, model.up, high - trim)
        off = 4 * self.tight
        must = case.form != "pieces"
        self.compare(name, "half opening angle", degrees(model.alpha), 1e-9, member)
        self.compare(name, "glue margin, surplus at the open corners", surplus, off, member, must)
        if case.pivot is None:
            self.compare(name, "glue margin, lack at the hinge corners", lack, off, member, must)
        self.compare(name, "width at the open end", side.bounds[3] - side.bounds[1], off, member, must)
        if case.boards == "wedge":
            self.compare(name, "free volume fully open", model.full_air(), 1e-3, member)
        elif case.second is None and not case.gap:
            # Both half open: by turning each to half its angle.
            both = 2 * 2 * model.length * sin(model.alpha / 2)
            self.compare(name, "span of both wedges, leaf at the centre", both, 1e-9)
        shut = model.check_shut(tally, name, sheets, self.tight)
        if shut is not None:
            self.shut_wedge(name, model, sheets, shut, member)
        self.pulls(name, model)
        self.beside(name, model, sheets, (2, 4), model.alpha)

    def shut_wedge(self, name, model, sheets, shut, member):
        case, off = self.case, shut["slack"]
        reach, beyond = shut["reach"], shut["beyond"]
        self.tally.near(f"{name}: shut, the end fold goes in by half the span", reach["end"],
            0.0 if case.folds == "out" else model.span / 2, off)
        if case.folds == "out":
            self.compare(name, "side fold stands out by", beyond["side"], off, member)
            self.compare(name, "end fold stands out by", beyond["end"], off, member)
            self.tally.check(shut["layers"] <= 4, f"{name}: {shut['layers']} layers at the corner, at most 4 wanted")
            return
        room = model.width - reach["left"] - reach["right"]
        self.tally.check(room >= -off, f"{name}: the folds of the two sides meet, by {-room}")
        self.compare(name, "fold room left when closed", room, 2 * off, member, case.form != "pieces")
        count = 6 if model.rib is None else self.rib_layers(model)
        self.tally.check(shut["layers"] == count, f"{name}: {shut['layers']} layers at the corner, {count} wanted")
        if model.rib is None:
            middle = [abs(p[0]) for p in sheets[0].points if abs(p[1]) <= 2 * self.near]
            far = model.width / 2 + model.height - model.short
            meets = [abs(u - model.width / 2) for u in middle if 2 * self.near < abs(u - model.width / 2)
                and abs(u - far) > 2 * self.near]
            if self.tally.check(len(meets) == 2, f"{name}: creases meet the centre line {len(meets)} times"):
                self.compare(name, "corner fold meets the centre line at", float(np.mean(meets)), 2 * self.tight,
                    member, case.form != "pieces")
        if case.cloth and not case.gap:
            thick = shut["layers"] * case.mm(case.cloth)
            thick += 4 * case.mm((case.card or {}).get("thickness", 0.0))
            # The stack ends at the inner end of the end fold; the boards turn about the pivot.
            self.compare(name, "closed stack, least span", thick * model.length / (model.length - reach["end"]), off,
                member)

    def rib_layers(self, model):
        """Ribs cut at half a right angle lie beside each other when shut; cut steeper, they lie over each other."""
        return 2 if degrees(model.rib) <= 45 + 1e-9 else 4

    def round_the_boards(self, name, model, parts, member):
        case, tally = self.case, self.tally
        x0, _, x1, _ = Polygon(parts["side"].outline).bounds
        pivot = model.width / 2 + model.height
        if case.form == "pieces":
            lap = case.mm(case.lap)
            wanted = (model.width / 2 - (0.0 if model.rib is not None else lap), pivot + lap)
            for words, got, want in (("open end", x0, wanted[0]), ("hinge", x1, wanted[1])):
                tally.near(f"{name}: the side goes round by its lap at the {words}", got, want, 2 * self.tight)
            width = Polygon(parts["end"].outline).bounds
            tally.near(f"{name}: the end is as wide as the board", width[2] - width[0], model.width, 2 * self.tight)
            if tally.check("wrap" in self.pieces, f"{name}: no piece for the hinge end"):
                a, b, c, d = Polygon(self.pieces["wrap"].outline).bounds
                trim = 2 * case.mm(case.trim)
                tally.near(f"{name}: the wrap is as wide as the board", c - a, model.width, 2 * self.tight)
                tally.near(f"{name}: the wrap covers both ends", d - b, model.hinge + model.up + model.low + trim,
                    2 * self.tight)
            return
        self.compare(name, "cut length", x1 - x0, 2 * self.tight, member)
        if case.pivot is not None:
            for words, x in (("one side", x1), ("the other side", x0)):
                back = model.in_space((x, 0.0))[0] - model.arris("hinge", model.gap / 2)[0]
                tally.near(f"{name}: stops before the pivot on {words}", back, case.mm(case.pivot), 2 * self.tight)
            return
        ends = [model.in_space((x, 0.0)) for x in (x1, x0)]
        over = ends[1][1] - ends[0][1]
        tally.near(f"{name}: overlap of the strip behind the hinge", over, case.wrap, 2 * self.tight)

    def no_glue(self, name, model, sheets):
        """Lines between which nothing is glued: as wide as the gap and two cloths, all across the hinge end."""
        case, drawn = self.case, [line for sheet in sheets for line in sheet.outside]
        if len(sheets) > 1:
            return
        wanted = case.cloth and case.pivot is None and case.boards == "wedge" and case.form != "pieces"
        self.tally.check(len(drawn) == (4 if wanted else 0), f"{name}: {len(drawn)} lines outside the free cloth")
        for line in drawn:
            off = float(np.abs(np.abs(np.asarray(line)[:, 1]) - model.gap / 2 - case.mm(case.cloth or 0)).max())
            first = float(np.abs(np.asarray(line)[:, 0]).min())
            self.tally.near(f"{name}: no-glue line", off, 0.0, 2 * self.tight)
            self.tally.near(f"{name}: no-glue line begins at the hinge", first, model.width / 2 + model.height,
                2 * self.tight)

    def pulls(self, name, model):
        case = self.case
        if not case.vacuum or case.boards != "wedge" or case.gap:
            return
        force = case.vacuum * PASCAL * model.swept(0.0) / (2 * model.length) * 1e-6
        self.compare(name, "force at the open end, shut", force, 1e-6 * force)
        if case.finger:
            self.compare(name, "force at the finger, shut", force * model.length / case.mm(case.finger), 1e-6 * force)

    def box(self, name, model):
        case, tally = self.case, self.tally
        model.member = None
        creases, parts = self.lying(model)
        sheets = model.sheets(creases, self.near)
        drawn = [line for sheet in sheets for line in sheet.outside]
        if case.form != "pieces":
            tally.check(not drawn, f"{name}: {len(drawn)} lines outside the free cloth")
        half, corner = model.width / 2, model.width / 2 + model.length
        if case.form == "pieces":
            spans = {"side": (half, corner), "second side": (-corner, -half), "end": (-half, half),
                "second end": (corner, corner + model.width)}
            lap = 0.0 if model.rib is not None else case.mm(case.lap)
            for key, (first, last) in spans.items():
                x0, _, x1, _ = Polygon(parts[key].outline).bounds
                own = lap if "side" in key else 0.0
                tally.near(f"{name}: the {key} reaches round the corners", x0 - first, -own, 2 * self.tight)
                tally.near(f"{name}: the {key} reaches round the corners", x1 - last, own, 2 * self.tight)
        else:
            x0, _, x1, _ = Polygon(parts["end"].outline).bounds
            spans = {"end": (x0, x1)}
            tally.near(f"{name}: overlap behind the boards", x1 - x0 - 2 * (model.length + model.width), case.wrap,
                2 * self.tight)
            tally.near(f"{name}: the overlap is even", x0 + x1, 0.0, 2 * self.tight)
            self.compare(name, "cut length", x1 - x0, 2 * self.tight)
        model.check_cloth(tally, name, [part.outline for part in parts.values()], self.tight)
        model.check_open(tally, name, [(key, parts[key].outline, span) for key, span in spans.items()], 2 * self.tight)
        self.compare(name, "free volume fully open", model.full_air(), 1e-3)
        shut = model.check_shut(tally, name, sheets, self.tight)
        if shut is not None:
            self.shut_box(name, model, shut)
        self.beside(name, model, sheets, (4 * case.pleats, 4 * case.pleats), np.pi / 2)

    def shut_box(self, name, model, shut):
        reach, beyond, off = shut["reach"], shut["beyond"], shut["slack"]
        count, tally = model.pleats, self.tally
        if model.out:
            # All four stand out alike; a box may say so once.
            self.compare(name, "fold depth", beyond["side"], off)
            self.compare(name, "side fold stands out by", beyond["side"], off, must=False)
            self.compare(name, "end fold stands out by", beyond["end"], off, must=False)
            tally.near(f"{name}: the far end stands out like the near one", beyond["hinge"], beyond["end"], off)
            tally.check(shut["layers"] <= 4 * count, f"{name}: {shut['layers']} layers, at most {4 * count} wanted")
            return
        for where, far in reach.items():
            self.compare(f"{name}: {where}", "fold depth", far, off)
        room = min(model.width - reach["left"] - reach["right"], model.length - reach["end"] - reach["hinge"])
        tally.check(room >= -off, f"{name}: folds meet, by {-room}")
        self.compare(name, "fold room left when closed", room, 2 * off, must=False)
        wanted = (6 if model.rib is None else self.rib_layers(model)) * count
        tally.check(shut["layers"] == wanted, f"{name}: {shut['layers']} layers at the corner, {wanted} wanted")

    def beside(self, name, model, sheets, counts, full):
        """Cards, gussets, patches."""
        case, tally = self.case, self.tally
        def numbered(word):
            own = [key for key in self.pieces if key.rpartition("-")[0] == word or key == word]
            return [self.pieces[key] for key in sorted(own,
                key=lambda key: int(key.rpartition("-")[2]) if "-" in key else 0)]
        cards, gussets, patches = numbered("card"), numbered("gusset"), numbered("patch")
        if case.card:
            folds_parts.check_cards(tally, name, model, sheets, cards, case.mm(case.card["inset"]), self.tight, counts)
        if case.gusset:
            wanted = 2 if case.boards == "wedge" else 4 * case.pleats
            tally.check(len(gussets) == wanted, f"{name}: {len(gussets)} gussets, {wanted} wanted")
            for number, gusset in enumerate(gussets, 1):
                lap = case.mm(case.gusset.get("lap", 0.0))
                angle = folds_parts.check_gusset(tally, f"{name}: gusset {number}", model, gusset.outline, lap,
                    self.tight, full)
                if angle is not None and number == 1:
                    off = degrees(12 * self.tight / min(model.rib_ends()))
                    self.compare(name, "corner angle of the gusset", degrees(angle), off)
            self.compare(name, "least corner angle", degrees(most_rib_angle(model.rib, model.out)), 1e-6)
        if case.patch and "lap" in case.patch:
            if tally.check(len(patches) == 1, f"{name}: {len(patches)} patches"):
                a, b, c, d = Polygon(patches[0].outline).bounds
                lap = (c - a - model.width) / 2 - case.mm(case.pivot)
                tally.near(f"{name}: the patch laps over the cloth", lap, case.mm(case.patch["lap"]), 2 * self.tight)
                tally.near(f"{name}: the patch covers both board ends", d - b, 2 * model.up + model.gap, 2 * self.tight)


def main(arguments):
    """The command line."""
    if len(arguments) != 1:
        sys.exit(__doc__)
    tally = Tally()
    if arguments[0] == "--self":
        import folds_self
        folds_self.run(tally)
    else:
        from folds_read import written
        for case in CASES:
            read = written(Path(arguments[0]).absolute(), case, tally)
            if read is not None:
                files, figures, said = read
                Trial(case, files, said, tally).run()
                Trial(case, figures, said, tally, EXACT, SAME).run()
    for words in tally.failures:
        print(f"FAILED {words}")
    print(f"{tally.passed} passed, {len(tally.failures)} failed")
    return 1 if tally.failures or tally.passed < 60 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
