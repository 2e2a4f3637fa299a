"""Trial bellows: their measures, the job text they make, and the model that folds them."""

from dataclasses import dataclass, field
from math import radians

from folds_box import BoxFold
from folds_wedge import WedgeFold

INCH = 25.4


@dataclass
class Case:
    """One trial. Lengths in ``unit``; angles in degrees; ``vacuum`` in inches of water."""

    name: str
    length: float
    width: float
    board: float
    span: float
    unit: str = "in"
    boards: str = "wedge"
    form: str = "strip"
    folds: str = "in"
    tuck: str = "side"
    outside: bool = False
    gap: float = 0.0
    trim: float = 0.0
    overlap: float | None = None
    cloth: float | None = None
    pivot: float | None = None
    lap: float = 0.0
    pleats: int = 1
    leaf: float | None = None
    second: float | None = None
    card: dict | None = None
    gusset: dict | None = None
    patch: dict | None = None
    vacuum: float | None = None
    finger: float | None = None
    extra: dict = field(default_factory=dict)

    def mm(self, value):
        """A measure of the case in millimetres."""
        return value * (INCH if self.unit == "in" else 1.0)

    @property
    def wrap(self):
        return self.mm(self.overlap if self.overlap is not None else self.width / 3)

    def text(self):
        """Keys of the part and its companions, for the end of a job file."""
        def words(value):
            return f'"{value} {self.unit}"'
        lines = []
        given = {"length": self.length, "width": self.width, "board": self.board, "span": self.span}
        given |= {"trim": self.trim or None, "hinge-gap": self.gap or None, "overlap": self.overlap,
            "cloth": self.cloth}
        given |= {"pivot-gap": self.pivot, "lap": self.lap or None, "leaf": self.leaf, "second-span": self.second}
        given |= {"finger": self.finger, "clearance": self.width / 100}
        lines += [f"{key} = {words(value)}" for key, value in given.items() if value is not None]
        usual = {"boards": ("wedge", self.boards), "form": ("strip", self.form), "folds": ("in", self.folds),
            "tuck": ("side", self.tuck)}
        lines += [f'{key} = "{value}"' for key, (silent, value) in usual.items() if value != silent]
        lines.append(f'span-is = "{"outside" if self.outside else "inside"}"')
        if self.pleats != 1:
            lines.append(f"pleats = {self.pleats}")
        if self.vacuum is not None:
            lines.append(f'vacuum = "{self.vacuum} inH2O"')
        for name, table in (("card", self.card), ("gusset", self.gusset), ("patch", self.patch)):
            if table is None:
                continue
            lines += ["", f"[part.{name}]", 'material = "trial-felt"', 'cut-with = "knife"']
            for key, value in table.items():
                if key == "count":
                    lines.append(f"{key} = {value}")
                else:
                    lines.append(f'{key} = "{value} deg"' if key.endswith("angle") else f"{key} = {words(value)}")
        return "\n".join(lines) + "\n"

    def rib(self):
        return None if self.gusset is None else radians(self.gusset.get("rib-angle", 45))

    def models(self):
        """The folding models by the member they go with; one without a name is the whole."""
        length, width, board, span, gap = (self.mm(v) for v in (self.length, self.width, self.board, self.span,
            self.gap))
        out = self.folds == "out"
        if self.boards == "parallel":
            overlap = None if self.form == "pieces" else self.wrap
            return {None: BoxFold(length, width, board, span, self.pleats, overlap, out, self.tuck, self.rib())}
        def wedge(low, opening, short=0.0):
            return WedgeFold(length, width, board, low, opening, self.outside, gap, short, out, self.tuck, self.rib())
        if self.boards == "double":
            half = self.mm(self.leaf) / 2
            return {"first": wedge(half, span), "second": wedge(half, self.mm(self.second or self.span))}
        return {None: wedge(board, span, self.mm(self.pivot or 0.0))}


def _card(inset, **more):
    return {"inset": inset, **more}


CASES = [
    Case("strip", 4.875, .9375, .1875, .875, trim=.25, cloth=.01),
    Case("taper", 5, 1.75, .1875, 1.25, form="taper", trim=.25, vacuum=5),
    Case("taper, tuck in the end", 16, 13, .75, 6, form="taper", tuck="end", trim=.5, overlap=3),
    Case("strip with a gap, over the boards", 16, 13, .75, 7.5, tuck="end", outside=True, gap=.125),
    Case("taper with a gap", 123.5, 23.8125, 4.7625, 21, "mm", form="taper", gap=.508, trim=3.175, cloth=.3),
    Case("wide strip", 150, 45, 6, 40, "mm", vacuum=20, finger=190),
    Case("opens wide", 6, 6.5, .25, 6, overlap=1),
    Case("stops before the pivot", 5, 2.5, .1875, 1.25, pivot=.25, patch={"length": 3.5, "width": .5}),
    Case("taper stops before the pivot", 150, 60, 6, 40, "mm", form="taper", tuck="end", pivot=6, patch={"lap": 8}),
    Case("stops before the pivot, gap", 120, 50, 5, 30, "mm", form="taper", pivot=4, gap=1, trim=4),
    Case("double", 5, 2, .25, 1.25, boards="double", leaf=.5),
    Case("double, two spans, taper", 150, 60, 6, 40, "mm", boards="double", form="taper", leaf=14, second=30, trim=3),
    Case("double with a gap, tuck in the end", 9, 6, .5, 3, boards="double", tuck="end", leaf=.75, gap=.0625),
    Case("box", 12, 8, .5, 4, boards="parallel", trim=.25, card=_card(.0625)),
    Case("box, tuck in the end", 300, 200, 12, 90, "mm", boards="parallel", tuck="end", card=_card(2)),
    Case("box of three pleats", 300, 200, 12, 150, "mm", boards="parallel", pleats=3, overlap=30, card=_card(1.5)),
    Case("box of two pleats, tuck in the end", 10, 7, .375, 5, boards="parallel", pleats=2, tuck="end"),
    Case("box of pieces", 12, 9, .5, 4, boards="parallel", form="pieces", lap=.5, tuck="end"),
    Case("box of two pleats in pieces", 250, 180, 10, 120, "mm", boards="parallel", form="pieces", lap=8, pleats=2),
    Case("box with gussets", 300, 220, 12, 100, "mm", boards="parallel", form="pieces", gusset={"lap": 10},
        card=_card(2)),
    Case("box of two pleats with gussets", 12, 9, .5, 6, boards="parallel", form="pieces", pleats=2,
         gusset={"rib-angle": 60, "lap": .375}),
    Case("folds out", 12, 16, .5, 4, folds="out"),
    Case("folds out, uneven", 16, 13, .75, 6, folds="out", trim=.5),
    Case("folds out with a gap", 12, 16, .5, 4, folds="out", gap=.25),
    Case("folds out, stops before the pivot", 12, 16, .5, 4, folds="out", form="taper", pivot=.25),
    Case("folds out with cards", 300, 400, 12, 100, "mm", folds="out", form="taper", trim=5, card=_card(3)),
    Case("box folds out", 250, 220, 10, 80, "mm", boards="parallel", folds="out", card=_card(2)),
    Case("box folds out, uneven", 400, 160, 10, 80, "mm", boards="parallel", folds="out", overlap=40),
    Case("box folds out, two pleats", 12, 10, .5, 6, boards="parallel", folds="out", pleats=2),
    Case("pieces", 16, 13, .75, 6, form="pieces", lap=.5, vacuum=20),
    Case("pieces, tuck in the end, gap", 150, 60, 6, 40, "mm", form="pieces", lap=6, tuck="end", gap=1, trim=2),
    Case("pieces with gussets", 16, 13, .75, 6, form="pieces", gusset={"lap": .5}, card=_card(.125)),
    Case("pieces with gussets at 60", 300, 240, 15, 100, "mm", form="pieces", gusset={"rib-angle": 60, "lap": 8}),
    Case("cards", 16, 13, .75, 6, form="taper", trim=.5, card=_card(.0625)),
    Case("cards, tuck in the end", 16, 13, .75, 6, form="taper", tuck="end", card=_card(.125)),
    Case("cards on a stack", 300, 200, 12, 100, "mm", card=_card(2, thickness=.8), cloth=.5),
    Case("cards with a gap", 9, 6, .5, 3, tuck="end", gap=.25, card=_card(.0625)),
]
