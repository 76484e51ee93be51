//! The wiring: every wire from its device through its pin to the controller, drawn from the tables of
//! connectors, fuses and wires in wiring.md.

use super::svg::{LETTER, Svg};

const ROW: f64 = 20.0;
const GAP: f64 = 34.0;
const TOP: f64 = 54.0;
const KINDS: [(&str, &str); 5] = [
    ("power", "supply, coils"),
    ("switch", "switch, closed to run"),
    ("signal", "signal, lamp"),
    ("shield", "shielded"),
    ("bus", "twisted pair"),
];

#[derive(Debug)]
pub(crate) struct Wire {
    pub(crate) connector: String,
    pub(crate) pin: String,
    pub(crate) name: String,
    device: String,
    kind: String,
    pub(crate) mm2: f64,
    pub(crate) fuse: String,
}

#[derive(Debug)]
pub(crate) struct Fuse {
    pub(crate) name: String,
    pub(crate) load_a: f64,
    pub(crate) rating_a: f64,
}

#[derive(Debug)]
pub(crate) struct Wiring {
    pub(crate) wires: Vec<Wire>,
    pub(crate) fuses: Vec<Fuse>,
    /// Cross-section and the current that it carries.
    sections: Vec<(f64, f64)>,
}

/// The rows of the table below a heading, without its head.
fn table<'a>(text: &'a str, heading: &str) -> Result<Vec<Vec<&'a str>>, String> {
    let (_, rest) = text.split_once(heading).ok_or(format!("no heading {heading:?}"))?;
    let lines = rest.lines().skip_while(|line| !line.starts_with('|'));
    let rows = lines.take_while(|line| line.starts_with('|')).skip(2);
    let cells = |row: &'a str| row.trim_matches('|').split('|').map(str::trim).collect();
    Ok(rows.map(cells).collect())
}

fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| format!("{text:?} is no number"))
}

impl Wiring {
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let mut wiring = Self { wires: Vec::new(), fuses: Vec::new(), sections: Vec::new() };
        for row in table(text, "\n## Connectors")? {
            let [connector, pin, name, device, kind, mm2, fuse] = row[..] else {
                return Err(format!("a wire has seven cells: {row:?}"));
            };
            if !KINDS.iter().any(|(known, _)| *known == kind) {
                return Err(format!("there is no kind {kind}"));
            }
            let [connector, pin, name, device, kind, fuse] =
                [connector, pin, name, device, kind, fuse].map(String::from);
            wiring.wires.push(Wire { connector, pin, name, device, kind, mm2: number(mm2)?, fuse });
        }
        for row in table(text, "\n### Fuses")? {
            let [name, _, load, rating] = row[..] else { return Err(format!("a fuse: {row:?}")) };
            let (load_a, rating_a) = (number(load)?, number(rating)?);
            wiring.fuses.push(Fuse { name: name.into(), load_a, rating_a });
        }
        for row in table(text, "\n### Wires")? {
            let [mm2, carries] = row[..] else { return Err(format!("a cross-section: {row:?}")) };
            wiring.sections.push((number(mm2)?, number(carries)?));
        }
        Ok(wiring)
    }

    /// Current that a wire of this cross-section carries; nothing if it is not in the table.
    pub(crate) fn carries(&self, mm2: f64) -> f64 {
        let known = self.sections.iter().find(|(section, _)| *section == mm2);
        known.map_or(0.0, |(_, amperes)| *amperes)
    }

    /// Connectors in their order, each with its wires.
    fn groups(&self) -> Vec<(&str, Vec<&Wire>)> {
        let mut groups: Vec<(&str, Vec<&Wire>)> = Vec::new();
        for wire in &self.wires {
            match groups.last_mut() {
                Some((name, wires)) if *name == wire.connector => wires.push(wire),
                _ => groups.push((&wire.connector, vec![wire])),
            }
        }
        groups
    }

    /// Connectors go down the left side until half of the wires are drawn, then down the right.
    pub(crate) fn draw(&self) -> String {
        let mut svg = Svg::new();
        let (mut left, mut right) = (TOP, TOP);
        let (left_x, right_x, width) = (470.0, 650.0, 1120.0);
        let mut drawn = 0;
        for (name, wires) in self.groups() {
            let on_left = 2 * drawn < self.wires.len();
            let y = if on_left { &mut left } else { &mut right };
            let side = if on_left {
                Side { x: left_x, sign: -1.0 }
            } else {
                Side { x: right_x, sign: 1.0 }
            };
            side.connector(&mut svg, *y, name, &wires);
            *y += ROW * count(wires.len()) + GAP;
            drawn += wires.len();
        }
        let bottom = left.max(right);
        svg.rectangle(
            "box strong",
            (left_x + 42.0, 24.0),
            (right_x - left_x - 84.0, bottom - 40.0),
        );
        let middle = f64::midpoint(left_x, right_x);
        svg.text("head", "middle", (middle, f64::midpoint(24.0, bottom)), "Controller");
        for (place, (kind, meaning)) in KINDS.into_iter().enumerate() {
            let x = 16.0 + 215.0 * count(place);
            svg.line(kind, (x, bottom + 10.0), (x + 44.0, bottom + 10.0));
            svg.text("small", "start", (x + 52.0, bottom + 14.0), meaning);
        }
        let told = self.wires.iter().map(|wire| {
            format!("{} pin {}: {} to {}", wire.connector, wire.pin, plain(&wire.name), wire.device)
        });
        svg.finish((width, bottom + 28.0), "Wiring", &told.collect::<Vec<_>>().join("; "))
    }
}

fn count(number: usize) -> f64 {
    f64::from(u32::try_from(number).unwrap_or(u32::MAX))
}

/// A name without the marks of code.
fn plain(name: &str) -> String {
    name.replace('`', "")
}

/// One side of the controller.
struct Side {
    /// Where the pins are.
    x: f64,
    /// -1 to the left, 1 to the right.
    sign: f64,
}

impl Side {
    fn connector(&self, svg: &mut Svg, top: f64, name: &str, wires: &[&Wire]) {
        let (x, sign) = (self.x, self.sign);
        let height = ROW * count(wires.len());
        svg.rectangle("box", (x - 13.0, top - ROW / 2.0), (26.0, height));
        svg.text("head", "middle", (x, top - ROW / 2.0 - 5.0), name);
        for (place, wire) in wires.iter().enumerate() {
            let y = top + ROW * count(place);
            let (near, far) = (x + sign * 9.0, x + sign * 245.0);
            svg.line(&wire.kind, (near, y), (far, y));
            svg.line(&wire.kind, (x - sign * 9.0, y), (x - sign * 42.0, y));
            svg.circle((x, y), 9.0);
            svg.text("small", "middle", (x, y + 4.0), &wire.pin);
            let fuse =
                if wire.fuse.is_empty() { String::new() } else { format!(", {}", wire.fuse) };
            let words = format!("{} {} mm2{fuse}", plain(&wire.name), wire.mm2);
            let middle = f64::midpoint(near, far);
            // The words stand on the line, on a ground of their own.
            let room = count(words.len()) * LETTER + 4.0;
            svg.rectangle("ground", (middle - room / 2.0, y - 7.0), (room, 14.0));
            svg.text("small", "middle", (middle, y + 4.0), &words);
            let anchor = if sign < 0.0 { "end" } else { "start" };
            svg.text("small", anchor, (far + sign * 6.0, y + 4.0), &wire.device);
        }
    }
}
