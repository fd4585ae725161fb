//! Drawings as SVG, in millimetres on the paper. How things look is said by their classes, in the page's style.

use std::fmt::Write;

use quick_xml::escape::escape;

use crate::text::plain;

/// A drawing under way.
pub(super) struct Svg {
    body: String,
}

/// Where a text stands beside its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn word(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

impl Svg {
    pub(super) fn new() -> Svg {
        Svg { body: String::new() }
    }

    /// The whole drawing; `name` says in words what it shows.
    pub(super) fn finish(self, width: f64, height: f64, name: &str) -> String {
        let (body, name) = (self.body, plain(name));
        let name = escape(&name);
        format!(
            "<svg viewBox=\"0 0 {width:.2} {height:.2}\" width=\"{width:.2}mm\" height=\"{height:.2}mm\" role=\"img\" \
             aria-label=\"{name}\" xmlns=\"http://www.w3.org/2000/svg\">\n{body}</svg>"
        )
    }

    fn put(&mut self, element: &str, attributes: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.body, "<{element} {attributes}/>");
    }

    pub(super) fn line(&mut self, class: &str, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) {
        self.put("line", format_args!("class=\"{class}\" x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\""));
    }

    /// A box between two corners.
    pub(super) fn rect(&mut self, class: &str, a: [f64; 2], b: [f64; 2]) {
        let (x, y) = (a[0].min(b[0]), a[1].min(b[1]));
        let (width, height) = ((a[0] - b[0]).abs(), (a[1] - b[1]).abs());
        self.put(
            "rect",
            format_args!("class=\"{class}\" x=\"{x:.2}\" y=\"{y:.2}\" width=\"{width:.2}\" height=\"{height:.2}\""),
        );
    }

    pub(super) fn circle(&mut self, class: &str, [x, y]: [f64; 2], radius: f64) {
        self.put("circle", format_args!("class=\"{class}\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius:.2}\""));
    }

    pub(super) fn polygon(&mut self, class: &str, points: &[[f64; 2]]) {
        let points: Vec<String> = points.iter().map(|[x, y]| format!("{x:.2},{y:.2}")).collect();
        self.put("polygon", format_args!("class=\"{class}\" points=\"{}\"", points.join(" ")));
    }

    pub(super) fn path(&mut self, class: &str, d: &str) {
        self.put("path", format_args!("class=\"{class}\" d=\"{d}\""));
    }

    pub(super) fn text(&mut self, [x, y]: [f64; 2], anchor: Anchor, text: &str) {
        let (anchor, text) = (anchor.word(), plain(text));
        let text = escape(&text);
        let _ = writeln!(self.body, "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\">{text}</text>");
    }

    /// A filled arrow head at a place, pointing along a way of any length.
    pub(super) fn head(&mut self, [x, y]: [f64; 2], [dx, dy]: [f64; 2]) {
        let length = dx.hypot(dy);
        let (dx, dy) = (dx / length, dy / length);
        let at = |back: f64, aside: f64| [x - back * dx - aside * dy, y - back * dy + aside * dx];
        self.polygon("head", &[[x, y], at(1.8, 0.6), at(1.8, -0.6)]);
    }
}
