"""The wanted shape of every piece of a job, worked out from the measures alone.

Shapes are in the part's own coordinates, millimetres, x along its length, y up:

- pouch (but not as a strip), facing, disk, ring, round spacers, gusset: the centre at the origin;
- plates, strips, cards and whatever is cut square: the lower left corner of the box at the origin, x along the length;
- bellows: the middle of the open end's panel at the origin, x along the strip; side pieces: the middle of the corner
  line; end and wrap pieces: their centre;
- outline: as typed or drawn.

Run with a job folder it lists the pieces.
"""

import sys
from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np
from shapely.geometry import Polygon

import wanted_plates
from jobs import read_job
from lengths import spare_count
from shapes import Member, circle, disk
from wanted_bellows import bellows
from wanted_soft import facing, pouch


@dataclass
class Wanted:
    """One piece that is wanted: where it belongs and its member."""

    address: str
    part: object
    member: Member


KINDS = {
    "pouch": pouch,
    "facing": facing,
    "gasket": wanted_plates.gasket,
    "outline": wanted_plates.outline,
    "strip": wanted_plates.strip,
    "hinge": wanted_plates.hinge,
    "bellows": bellows,
    "spacer": wanted_plates.spacer,
    "flap": wanted_plates.flap,
    "pallet": wanted_plates.pallet,
    "mute": wanted_plates.mute,
    "bushing": wanted_plates.bushing,
    "card": wanted_plates.card,
    "gusset": wanted_plates.gusset,
    "disk": lambda m: [disk(m["diameter"])],
    "ring": lambda m: [disk(m["outside"], bores=[m["inside"]])],
}


def mirrored(member):
    """The member seen from its back: x changes its sign."""
    def back(points):
        return (np.asarray(points) * (-1, 1))[::-1]
    return replace(
        member,
        outline=back(member.outline),
        holes=[back(hole) for hole in member.holes],
        round_holes=[(-x, y, r) for x, y, r in member.round_holes],
        punches=[(-x, y, r) for x, y, r in member.punches],
        creases=[tuple((-x, y) for x, y in crease) for crease in member.creases],
        untrimmed=[(-x, y) for x, y in member.untrimmed],
        round_at=None if member.round_at is None else (-member.round_at[0], *member.round_at[1:]),
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


def _cut(members):
    """What is cut, in a form in which equal pieces are equal."""
    return tuple((member.name, np.round(member.outline, 9).tobytes(), str(member.creases)) for member in members)


def pieces(job):
    """Every wanted piece by its address, spares among them."""
    found = {}
    for part in job.parts.values():
        sizes, own = {}, {}
        for place in part.positions:
            key = _same(part.measures[place])
            if key not in own:
                made = KINDS[part.kind](part.measures[place])
                own[key] = [member for member in made if member.companion == part.companion]
            # Boards of several lengths may have one hinge: companions count by what is cut.
            alike = key if part.companion is None else _cut(own[key])
            sizes.setdefault(alike, (own[key], []))[1].append(place)
        for members, places in sizes.values():
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

    def on(self, points, trim=0.0, untrimmed=()):
        """Points of the part on the sheet, y widened by the trim after the stretch where it is not below a level."""
        points = np.asarray(points, dtype=float)
        if not trim:
            return points @ (self.shrunk @ self.turned).T + self.moved
        # The shrinking in the part's own frame, which is square to the grain where a part has a trim.
        own = self.turned.T @ self.shrunk @ self.turned
        shrunk = points @ own.T
        still = [any(np.hypot(*(point - one)) < 1e-9 for one in untrimmed) for point in points]
        shrunk[:, 1] += np.where(still, 0.0, np.sign(points[:, 1]) * trim)
        return shrunk @ self.turned.T + self.moved


def placed(member, pose, smallest_hole):
    """The member on the sheet as ``(polygon, punch centres)``: small round holes are left to the punch."""
    outline = pose.on(member.outline, member.trim, member.untrimmed)
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
