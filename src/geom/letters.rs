//! stub
use kurbo::Point;
/// s
pub fn strokes(_: &str, _: f64) -> Vec<Vec<Point>> {
    vec![]
}
/// w
pub fn width(t: &str, h: f64) -> f64 {
    t.len() as f64 * h
}
