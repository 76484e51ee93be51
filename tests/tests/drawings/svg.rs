//! The few shapes that the drawings are made of.

use std::fmt::Write;

/// Width of a letter at the size of the words, with room to spare for any sans-serif font.
pub(crate) const LETTER: f64 = 6.6;

pub(crate) struct Svg {
    body: String,
}

/// Lines differ in width and dashes, not in colour alone.
const STYLE: &str = "\
text{font:12px sans-serif;fill:#000}.head{font-weight:bold}.small{font-size:11px}\
.box{fill:#fff;stroke:#000;stroke-width:1.5}.strong{fill:#eee}\
.signal{stroke:#000;stroke-width:1.5}.power{stroke:#d55e00;stroke-width:4}\
.oil{stroke:#0072b2;stroke-width:4;stroke-dasharray:12 4}\
.stop{stroke:#000;stroke-width:3;stroke-dasharray:3 3}\
.switch{stroke:#000;stroke-width:1.5;stroke-dasharray:7 3}\
.shield{stroke:#0072b2;stroke-width:3;stroke-dasharray:2 2}\
.bus{stroke:#000;stroke-width:3}.ground{fill:#fff}.pin{fill:#fff;stroke:#000;stroke-width:1.2}";

pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

impl Svg {
    pub(crate) fn new() -> Self {
        Self { body: String::new() }
    }

    pub(crate) fn rectangle(
        &mut self,
        class: &str,
        (x, y): (f64, f64),
        (width, height): (f64, f64),
    ) {
        self.push(format_args!(
            "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" rx=\"4\"/>"
        ));
    }

    pub(crate) fn circle(&mut self, (x, y): (f64, f64), radius: f64) {
        self.push(format_args!("<circle class=\"pin\" cx=\"{x}\" cy=\"{y}\" r=\"{radius}\"/>"));
    }

    pub(crate) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        self.push(format_args!(
            "<line class=\"{class}\" x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>",
            from.0, from.1, to.0, to.1
        ));
    }

    /// A filled point of an arrow at `tip`, coming along `along` (a unit vector).
    pub(crate) fn point(&mut self, tip: (f64, f64), along: (f64, f64)) {
        let (back, side) = (9.0, 5.0);
        let corner = |sign: f64| {
            let x = tip.0 - back * along.0 - sign * side * along.1;
            let y = tip.1 - back * along.1 + sign * side * along.0;
            format!("{x},{y}")
        };
        let (left, right) = (corner(-1.0), corner(1.0));
        self.push(format_args!("<polygon points=\"{},{} {left} {right}\"/>", tip.0, tip.1));
    }

    /// `anchor` is start, middle or end.
    pub(crate) fn text(&mut self, class: &str, anchor: &str, (x, y): (f64, f64), text: &str) {
        let text = escaped(text);
        self.push(format_args!(
            "<text class=\"{class}\" text-anchor=\"{anchor}\" x=\"{x}\" y=\"{y}\">{text}</text>"
        ));
    }

    fn push(&mut self, shape: std::fmt::Arguments<'_>) {
        writeln!(self.body, "{shape}").expect("a string takes everything");
    }

    /// The whole file; `title` names the drawing and `told` tells it to who cannot see it.
    pub(crate) fn finish(&self, (width, height): (f64, f64), title: &str, told: &str) -> String {
        let (title, told) = (escaped(title), escaped(told));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" \
             width=\"{width}\" height=\"{height}\" role=\"img\">\n<title>{title}</title>\n\
             <desc>{told}</desc>\n<style>{STYLE}</style>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n{}</svg>\n",
            self.body
        )
    }
}
