//! Where the names of odd places stand, so that none lies on another, on a mark or on the line.

use crate::geom::{Point, Rect, Vec2, rectangle};
use crate::letters;
use crate::write::picture::{Letters, Mark, PAPER, straight};

/// What is said of a mark.
pub(super) struct Said {
    pub(super) text: String,
    /// Middle of the mark.
    pub(super) at: Point,
    /// Half its width.
    pub(super) half: f64,
    pub(super) height: f64,
}

/// Room for words in a strip.
pub(super) struct Board {
    area: Rect,
    taken: Vec<Rect>,
}

impl Board {
    pub(super) fn new(area: Rect) -> Board {
        Board { area: area.inflate(-0.5, -0.5), taken: Vec::new() }
    }

    pub(super) fn take(&mut self, area: Rect) {
        self.taken.push(area);
    }

    /// Writes words beside their mark, with a fine line to it from farther off; whether there was room.
    pub(super) fn say(&mut self, said: &Said, marks: &mut Vec<Mark>) -> bool {
        let size = Vec2::new(letters::width(&said.text, said.height), said.height);
        let Some((area, from)) =
            places(said, size).find(|(area, from)| self.is_free(*area, *from, said))
        else {
            return false;
        };
        self.taken.push(area.inflate(0.7, 0.5));
        if let Some(from) = from {
            let to = said.at + (from - said.at) / (from - said.at).hypot().max(1e-9) * said.half;
            marks.push(straight(to, from, 0.12));
            self.taken.extend(along(to, from).map(|p| Rect::from_points(p, p).inflate(0.2, 0.2)));
        }
        let paper = area.inflate(0.4, 0.4);
        if let Ok(paper) = rectangle(paper.origin(), paper.width(), paper.height(), 0.0) {
            marks.push(Mark::Ground(vec![paper], PAPER));
        }
        marks.push(Mark::Letters(Letters::new(said.text.clone(), area.origin(), said.height)));
        true
    }

    fn is_free(&self, area: Rect, from: Option<Point>, said: &Said) -> bool {
        let wider = area.inflate(0.5, 0.5);
        let inside = area.x0 >= self.area.x0
            && area.x1 <= self.area.x1
            && area.y0 >= self.area.y0
            && area.y1 <= self.area.y1;
        // Its own mark may lie on the way of the line.
        let own = Rect::from_center_size(said.at, (2.2 * said.half, 2.2 * said.half));
        let clear = |p: Point| {
            own.contains(p) || !self.taken.iter().any(|it| it.contains(p) && !it.contains(said.at))
        };
        inside
            && !self.taken.iter().any(|it| it.overlaps(wider))
            && from.is_none_or(|from| along(said.at, from).all(clear))
    }
}

/// Points along a line, half a millimetre apart.
fn along(from: Point, to: Point) -> impl Iterator<Item = Point> {
    let count = ((to - from).hypot() / 0.5).ceil().clamp(1.0, 400.0);
    let mut n = 0.0;
    std::iter::from_fn(move || {
        let share: f64 = n / count;
        n += 1.0;
        (share <= 1.0).then(|| from.lerp(to, share))
    })
}

/// Places for words about a mark, the nearest first; with the end of the line where one is needed.
fn places(said: &Said, size: Vec2) -> impl Iterator<Item = (Rect, Option<Point>)> + '_ {
    let gap = said.half + 0.8;
    let foot = move |x: f64, y: f64| Rect::from_origin_size((x, y), (size.x, size.y));
    let Point { x, y } = said.at;
    let near = [
        foot(x - size.x / 2.0, y + gap),
        foot(x - size.x / 2.0, y - gap - size.y),
        foot(x + gap, y - size.y / 2.0),
        foot(x - gap - size.x, y - size.y / 2.0),
        foot(x - said.half, y + gap),
        foot(x + said.half - size.x, y + gap),
        foot(x - said.half, y - gap - size.y),
        foot(x + said.half - size.x, y - gap - size.y),
    ];
    let far = (1..14_u32).flat_map(move |ring| {
        let off = gap + 1.3 * f64::from(ring);
        [0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6].into_iter().flat_map(move |side| {
            let middle = x + side * (size.x / 2.0 + gap);
            [(off, off), (-off - size.y, -off)].map(|(up, end)| {
                let area = foot(middle - size.x / 2.0, y + up);
                let end = Point::new(x.clamp(area.x0, area.x1), y + end);
                (area, Some(end))
            })
        })
    });
    near.into_iter().map(|area| (area, None)).chain(far)
}
