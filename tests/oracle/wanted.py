"""The wanted shape of every piece of a job, worked out from the measures alone.

Shapes are in the part's own coordinates, millimetres, x along its length, y up:

- pouch, facing, disk, ring: the centre at the origin;
- gasket, strip, hinge: the lower left corner of the box at the origin, x along the length;
- bellows: the middle of the open end's panel at the origin, x along the strip.

Curves are many short chords (at least 1024 to a full turn). Run with a job folder it lists the pieces.
"""

import sys
from dataclasses import dataclass, field
from math import cos, radians, sin

import numpy as np
from shapely.geometry import Polygon

from dishes import free_diameter
from jobs import read_job
from lengths import spare_count
from wedge import Wedge

CHORDS = 1024


@dataclass
class Member:
    """One piece's worth of a part at true size."""

    outline: np.ndarray
    holes: list = field(default_factory=list)
    round_holes: list = field(default_factory=list)
    punches: list = field(default_factory=list)
    creases: list = field(default_factory=list)
    round_at: tuple | None = None
    trim: float = 0.0
    name: str | None = None

    def is_round(self):
        """Whether its outline is a circle and each hole a circle about the same centre."""
        if self.round_at is None or self.holes:
            return False
        x, y, _ = self.round_at
        return all(abs(hx - x) < 1e-9 and abs(hy - y) < 1e-9 for hx, hy, _ in self.round_holes)


@dataclass
class Wanted:
    """One piece that is wanted: where it belongs and its member."""

    address: str
    part: object
    member: Member


def arc_points(x, y, radius, start, sweep):
    """Points of an arc, both ends among them; angles in degrees."""
    count = max(2, int(np.ceil(abs(sweep) / 360 * CHORDS)) + 1)
    angles = np.radians(np.linspace(start, start + sweep, count))
    return np.column_stack([x + radius * np.cos(angles), y + radius * np.sin(angles)])


def circle(x, y, radius):
    """A circle, its last point not repeated."""
    return arc_points(x, y, radius, 0, 360)[:-1]


def plate(x, y, wide, high, corner=0.0):
    """A rectangle from its lower left corner, with rounded corners if wanted."""
    if corner <= 0:
        return np.array([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])
    right, top = x + wide - corner, y + high - corner
    left, low = x + corner, y + corner
    corners = [(right, low, -90), (right, top, 0), (left, top, 90), (left, low, 180)]
    return np.vstack([arc_points(cx, cy, corner, start, 90) for cx, cy, start in corners])


def obround(x, y, long, wide, upright=False):
    """A slot with round ends about its middle."""
    half = (long - wide) / 2
    points = np.vstack([arc_points(half, 0, wide / 2, -90, 180), arc_points(-half, 0, wide / 2, 90, 180)])
    if upright:
        points = np.column_stack([-points[:, 1], points[:, 0]])
    return points + (x, y)


def stations(row):
    """Distances of a row's holes from its first."""
    if "at" in row:
        return list(row["at"])
    along, place = [], 0.0
    adds = {}
    for gap in row.get("break", []):
        adds[gap["after"]] = adds.get(gap["after"], 0.0) + gap["add"]
    for number in range(1, row["holes"] + 1):
        along.append(place)
        place += row["pitch"] + adds.get(number, 0.0)
    return along


def bore(member, m):
    """Adds rows, holes, screw holes and slots."""
    for row in m.get("row", []):
        x, y = row["first"]
        upright = row.get("way") == "width"
        for station in stations(row):
            place = (x, y + station) if upright else (x + station, y)
            member.round_holes.append((*place, row["diameter"] / 2))
    for hole in m.get("hole", []) + m.get("screw", []):
        member.round_holes.append((*hole["at"], hole["diameter"] / 2))
    for slot in m.get("slot", []):
        x, y = slot["at"]
        upright = slot.get("way") == "width"
        long, wide = slot["length"], slot["width"]
        if slot.get("ends") == "square":
            w, h = (wide, long) if upright else (long, wide)
            member.holes.append(plate(x - w / 2, y - h / 2, w, h))
        else:
            member.holes.append(obround(x, y, long, wide, upright))


def disk(diameter, x=0.0, y=0.0, bores=(), name=None):
    """A disk with holes about its centre."""
    return Member(
        circle(x, y, diameter / 2),
        round_holes=[(x, y, bore / 2) for bore in bores if bore],
        round_at=(x, y, diameter / 2),
        name=name,
    )


def pouch(m):
    """A disk that, dished into its well, still has its land all round."""
    free = free_diameter(m.get("rule", "arc"), m["well"], m["dip"], m.get("nose"), m.get("lifter"))
    member = disk(free + 2 * m["land"])
    if "bleed" in m:
        member.punches.append((0.0, 0.0, m["bleed"] / 2))
    return [member]


def facing(m):
    """The leathers of a valve: each covers its seat's bore and a land all round."""
    which = m.get("members", "both")
    made = []
    for name in {"both": ("outer", "inner"), "one": ("one",)}.get(which, (which,)):
        own = "inner-" if name == "inner" else ""
        def figure(key, own=own):
            return m.get(own + key, m.get(key))
        across = figure("seat") + 2 * figure("land")
        made.append(disk(across, bores=[figure("stem")], name=None if name == "one" else name))
    return made


def gasket(m):
    """A plate, a round-ended plate or a ring, with its holes."""
    shape = m.get("shape", "rectangle")
    if shape == "ring":
        middle = m["outside"] / 2
        member = disk(m["outside"], middle, middle, [m["bore"]])
    elif shape == "obround":
        member = Member(obround(m["length"] / 2, m["width"] / 2, m["length"], m["width"]))
    else:
        member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)))
    bore(member, m)
    return [member]


def strip(m):
    """A strip with slots and holes."""
    member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)))
    bore(member, m)
    return [member]


def hinge(m):
    """A strip that folds along one line, or along two with the gap between them."""
    gap = m.get("gap", 0.0)
    width = m["width"] if "width" in m else m["leaf"] + gap + m["leaf"]
    levels = sorted({(width - gap) / 2, (width + gap) / 2})
    creases = [((0.0, level), (m["length"], level)) for level in levels]
    return [Member(plate(0, 0, m["length"], width), creases=creases)]


def bellows(m):
    """The cloth round a wedge, unfolded from the wedge in space."""
    outside = m.get("span-is") == "outside"
    wedge = Wedge(m["length"], m["width"], m["board"], m["span"], outside, m.get("hinge-gap", 0.0))
    overlap = m.get("overlap", m["width"] / 3)
    blank = wedge.blank(overlap, 0.0, m.get("form") == "taper")
    return [Member(np.array(blank), creases=wedge.creases(m.get("tuck", "side")), trim=m.get("trim", 0.0))]


KINDS = {
    "pouch": pouch,
    "facing": facing,
    "gasket": gasket,
    "strip": strip,
    "hinge": hinge,
    "bellows": bellows,
    "disk": lambda m: [disk(m["diameter"])],
    "ring": lambda m: [disk(m["outside"], bores=[m["inside"]])],
}


def mirrored(member):
    """The member seen from its back: x changes its sign."""
    def back(points):
        return (np.asarray(points) * (-1, 1))[::-1]
    return Member(
        back(member.outline),
        [back(hole) for hole in member.holes],
        [(-x, y, r) for x, y, r in member.round_holes],
        [(-x, y, r) for x, y, r in member.punches],
        [tuple((-x, y) for x, y in crease) for crease in member.creases],
        None if member.round_at is None else (-member.round_at[0], *member.round_at[1:]),
        member.trim,
        member.name,
    )


def _same(value):
    """Measures in a form in which equal sizes are equal."""
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, dict):
        return tuple(sorted((key, _same(one)) for key, one in value.items()))
    if isinstance(value, list):
        return tuple(_same(one) for one in value)
    return value


def pieces(job):
    """Every wanted piece by its address, spares among them."""
    found = {}
    for part in job.parts.values():
        sizes = {}
        for place in part.positions:
            sizes.setdefault(_same(part.measures[place]), []).append(place)
        for places in sizes.values():
            members = KINDS[part.kind](part.measures[places[0]])
            if part.mate_of:
                members = [mirrored(member) for member in members]
            extra = spare_count(part.spares, len(places))
            for member in members:
                tail = f"/{member.name}" if member.name else ""
                names = [f"{part.name}:{place}{tail}" for place in places]
                names += [f"{part.name}:{min(places)}{tail}+{n}" for n in range(1, extra + 1)]
                for name in names:
                    found[name] = Wanted(name, part, member)
    return found


class Pose:
    """Where a piece lies: x negated if mirrored, then turned, then moved; stretch taken off along the grain."""

    def __init__(self, x, y, turn, mirror, grain=0.0, stretch=(0.0, 0.0)):
        c, s = cos(radians(turn)), sin(radians(turn))
        back = np.diag([-1.0 if mirror else 1.0, 1.0])
        self.turned = np.array([[c, -s], [s, c]]) @ back
        g = np.array([[cos(radians(grain)), -sin(radians(grain))], [sin(radians(grain)), cos(radians(grain))]])
        self.shrunk = g @ np.diag([1 / (1 + stretch[0]), 1 / (1 + stretch[1])]) @ g.T
        self.moved = np.array([x, y])

    def on(self, points, trim=0.0):
        """Points of the part on the sheet, y widened by the trim after the stretch."""
        points = np.asarray(points, dtype=float)
        if not trim:
            return points @ (self.shrunk @ self.turned).T + self.moved
        # The shrinking in the part's own frame, which is square to the grain where a part has a trim.
        own = self.turned.T @ self.shrunk @ self.turned
        shrunk = points @ own.T
        shrunk[:, 1] += np.sign(points[:, 1]) * trim
        return shrunk @ self.turned.T + self.moved


def placed(member, pose, smallest_hole):
    """The member on the sheet as ``(polygon, punch centres)``: small round holes are left to the punch."""
    outline = pose.on(member.outline, member.trim)
    holes = [pose.on(hole) for hole in member.holes]
    punches = [pose.on([(x, y)])[0] for x, y, _ in member.punches]
    for x, y, radius in member.round_holes:
        if 2 * radius < smallest_hole - 1e-6:
            punches.append(pose.on([(x, y)])[0])
        else:
            holes.append(pose.on(circle(x, y, radius)))
    return Polygon(outline, holes), punches


def main(arguments):
    """Lists the pieces of a job: address, box, area."""
    still = Pose(0, 0, 0, False)
    for address, wanted in pieces(read_job(arguments[0])).items():
        shape, punches = placed(wanted.member, still, 0.0)
        x0, y0, x1, y1 = shape.bounds
        print(f"{address}: box {x1 - x0:.3f} x {y1 - y0:.3f}, area {shape.area:.2f}, {len(shape.interiors)} holes")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("give the job folder")
    main(sys.argv[1:])
