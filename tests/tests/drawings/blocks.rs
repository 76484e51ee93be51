//! The block diagram: boxes on a grid, straight lines between neighbours.

use super::svg::{LETTER, Svg};

const BOX: (f64, f64) = (180.0, 44.0);
/// From a box to the next.
const STEP: (f64, f64) = (260.0, 76.0);
const MARGIN: f64 = 16.0;
const KINDS: [(&str, &str); 4] = [
    ("signal", "signal"),
    ("power", "supply, current"),
    ("oil", "oil"),
    ("stop", "takes the supply away"),
];

#[derive(Debug)]
struct Block {
    name: String,
    column: u8,
    row: u8,
    rows: u8,
    words: Vec<String>,
}

impl Block {
    fn corner(&self) -> (f64, f64) {
        (MARGIN + STEP.0 * f64::from(self.column), MARGIN + STEP.1 * f64::from(self.row))
    }

    fn size(&self) -> (f64, f64) {
        (BOX.0, BOX.1 + STEP.1 * f64::from(self.rows - 1))
    }

    fn overlaps(&self, other: &Self) -> bool {
        let apart = self.row + self.rows <= other.row || other.row + other.rows <= self.row;
        self.column == other.column && !apart
    }
}

#[derive(Debug)]
struct Line {
    kind: String,
    from: (f64, f64),
    to: (f64, f64),
    words: String,
}

#[derive(Debug)]
pub(crate) struct Diagram {
    blocks: Vec<Block>,
    lines: Vec<Line>,
    told: Vec<String>,
}

impl Diagram {
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let mut diagram = Self { blocks: Vec::new(), lines: Vec::new(), told: Vec::new() };
        for (number, line) in (1..).zip(text.lines()) {
            let words: Vec<&str> = line.split_whitespace().collect();
            let done = match words.as_slice() {
                [] => Ok(()),
                [first, ..] if first.starts_with('#') => Ok(()),
                ["box", name, column, row, rows, words @ ..] => {
                    diagram.add_box(name, [column, row, rows], words)
                }
                ["line", kind, from, ">", to, words @ ..] => {
                    diagram.add_line(kind, from, to, words)
                }
                _ => Err("neither box nor line".into()),
            };
            done.map_err(|fault| format!("line {number}: {fault}"))?;
        }
        Ok(diagram)
    }

    fn add_box(&mut self, name: &str, place: [&str; 3], words: &[&str]) -> Result<(), String> {
        let mut numbers = [0; 3];
        for (number, text) in numbers.iter_mut().zip(place) {
            *number = text.parse().map_err(|_| format!("{text} is no place"))?;
        }
        let [column, row, rows] = numbers;
        let words: Vec<String> = words.join(" ").split(" / ").map(String::from).collect();
        let block = Block { name: name.into(), column, row, rows: rows.max(1), words };
        let longest = block.words.iter().map(String::len).max().unwrap_or(0);
        if f64::from(u32::try_from(longest).unwrap_or(u32::MAX)) * LETTER > BOX.0
            || block.words.len() > 2
        {
            return Err("does not fit in its box".into());
        }
        if let Some(other) = self.blocks.iter().find(|other| other.overlaps(&block)) {
            return Err(format!("{name} lies on {}", other.name));
        }
        self.blocks.push(block);
        Ok(())
    }

    fn find(&self, name: &str) -> Result<&Block, String> {
        let found = self.blocks.iter().find(|block| block.name == name);
        found.ok_or_else(|| format!("there is no box {name}"))
    }

    fn add_line(&mut self, kind: &str, from: &str, to: &str, words: &[&str]) -> Result<(), String> {
        if !KINDS.iter().any(|(known, _)| *known == kind) {
            return Err(format!("there is no kind {kind}"));
        }
        let (start, end) = (self.find(from)?, self.find(to)?);
        let (first, last) =
            ends(start, end).ok_or(format!("{from} and {to} are not neighbours"))?;
        let words = words.join(" ");
        self.told.push(format!("{} to {}: {words}", start.words[0], end.words[0]));
        self.lines.push(Line { kind: kind.into(), from: first, to: last, words });
        Ok(())
    }

    pub(crate) fn draw(&self) -> String {
        let mut svg = Svg::new();
        for Line { kind, from, to, words } in &self.lines {
            let length = (to.0 - from.0).hypot(to.1 - from.1);
            let along = ((to.0 - from.0) / length, (to.1 - from.1) / length);
            svg.line(kind, *from, (to.0 - 7.0 * along.0, to.1 - 7.0 * along.1));
            svg.point(*to, along);
            let middle = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
            if along.0 == 0.0 {
                svg.text("small", "start", (middle.0 + 8.0, middle.1 + 3.0), words);
            } else {
                svg.text("small", "middle", (middle.0 - 4.0 * along.0, middle.1 - 6.0), words);
            }
        }
        for block in &self.blocks {
            let (corner, size) = (block.corner(), block.size());
            svg.rectangle(if block.rows > 1 { "box strong" } else { "box" }, corner, size);
            let middle = (corner.0 + size.0 / 2.0, corner.1 + size.1 / 2.0);
            for (offset, (class, words)) in
                [-3.0, 14.0].into_iter().zip(["head", "small"].into_iter().zip(&block.words))
            {
                svg.text(class, "middle", (middle.0, middle.1 + offset), words);
            }
        }
        let bottom = self.blocks.iter().map(|block| block.corner().1 + block.size().1);
        let right = self.blocks.iter().map(|block| block.corner().0 + block.size().0);
        let (bottom, right) = (bottom.fold(0.0, f64::max), right.fold(0.0, f64::max));
        let legend = bottom + 30.0;
        for (place, (kind, meaning)) in KINDS.into_iter().enumerate() {
            let x = MARGIN + 230.0 * f64::from(u8::try_from(place).unwrap_or(0));
            svg.line(kind, (x, legend), (x + 44.0, legend));
            svg.text("small", "start", (x + 52.0, legend + 4.0), meaning);
        }
        svg.finish((right + MARGIN, legend + 18.0), "Block diagram", &self.told.join("; "))
    }
}

/// Where a line between two boxes begins and ends, if it can run straight.
fn ends(start: &Block, end: &Block) -> Option<((f64, f64), (f64, f64))> {
    let ((ax, ay), (bx, by)) = (start.corner(), end.corner());
    let rows = (start.row.max(end.row), (start.row + start.rows).min(end.row + end.rows));
    if start.column.abs_diff(end.column) == 1 && rows.0 < rows.1 {
        let y = MARGIN + STEP.1 * f64::from(rows.0) + BOX.1 / 2.0;
        return Some(if ax < bx { ((ax + BOX.0, y), (bx, y)) } else { ((ax, y), (bx + BOX.0, y)) });
    }
    let x = ax + BOX.0 / 2.0;
    let below = start.row + start.rows == end.row;
    let above = end.row + end.rows == start.row;
    (start.column == end.column && (below || above)).then(|| {
        if below { ((x, ay + start.size().1), (x, by)) } else { ((x, ay), (x, by + end.size().1)) }
    })
}
