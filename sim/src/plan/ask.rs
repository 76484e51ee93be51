//! Asking a person for what is missing, a question at a time, and making a farm's file of the answers.

use super::farm::Farm;
use crate::table::quoted;
use std::io::{BufRead, Write};

/// One thing to know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// Where it stands in the file: `herd`, `hay`, `bales`, `place`; empty at the top.
    pub table: &'static str,
    /// Its key there.
    pub key: &'static str,
    /// What a person is asked.
    pub words: &'static str,
    /// Whether the answer is a text.
    pub is_text: bool,
}

const fn question(table: &'static str, key: &'static str, words: &'static str) -> Question {
    Question { table, key, words, is_text: false }
}

/// All questions in the order asked. An empty answer leaves the usual value.
pub const QUESTIONS: [Question; 12] = [
    question("", "days_per_feeding", "Days that one feeding lasts [1]"),
    Question {
        is_text: true,
        ..question(
            "herd",
            "class",
            "Animals: dry cow, lactating cow, bred heifer, bull or growing [dry cow]",
        )
    },
    question("herd", "head", "How many head"),
    question("herd", "weight_lb", "Weight of one, lb"),
    question("hay", "tdn_percent", "Digestible nutrients of the hay (TDN) from a test, % [56]"),
    question("bales", "width_ft", "Width of a bale, ft [4]"),
    question("bales", "diameter_ft", "Diameter of a bale, ft [5]"),
    question("bales", "weight_lb", "Weight of a bale, lb [estimated from its size]"),
    question("bales", "moisture_percent", "Moisture of the hay, % [15]"),
    question("bales", "count", "Bales at hand [enough]"),
    question("place", "strip_ft", "Length to lay it on, ft [what cattle need and rollers hold]"),
    question("drive", "speed_mph", "Ground speed, mph [3]"),
];

/// An answer to the question of the same place; none leaves the usual value.
pub type Answers = [Option<String>; QUESTIONS.len()];

/// The answers as a farm's file.
#[must_use]
pub fn file(answers: &Answers) -> String {
    let line = |(question, answer): (&Question, &Option<String>)| {
        let answer = answer.as_ref()?;
        let value = if question.is_text { quoted(answer) } else { answer.clone() };
        Some((question.table, format!("{} = {value}\n", question.key)))
    };
    let lines: Vec<_> = QUESTIONS.iter().zip(answers).filter_map(line).collect();
    let within = |table: &str| -> String {
        lines.iter().filter(|(of, _)| *of == table).map(|(_, line)| line.as_str()).collect()
    };
    let tables =
        [("hay", "[hay]"), ("place", "[place]"), ("drive", "[drive]"), ("bales", "[[bales]]")];
    let named = tables.into_iter().map(|(table, head)| (within(table), head));
    let filled = named.filter(|(lines, _)| !lines.is_empty());
    let tables: String = filled.map(|(lines, head)| format!("\n{head}\n{lines}")).collect();
    format!("{}\n[[herd]]\n{}{tables}", within(""), within("herd"))
}

/// Asks every question that has no answer yet; an answer that cannot be is told and asked again.
/// `None` if the person ends the input.
///
/// # Errors
/// Those of input and output.
pub fn ask(
    mut answers: Answers,
    input: &mut impl BufRead,
    output: &mut impl Write,
) -> std::io::Result<Option<Answers>> {
    let missing: Vec<usize> = (0..QUESTIONS.len()).filter(|at| answers[*at].is_none()).collect();
    for at in missing {
        loop {
            write!(output, "{}: ", QUESTIONS[at].words)?;
            output.flush()?;
            let mut line = String::new();
            if input.read_line(&mut line)? == 0 {
                return Ok(None);
            }
            let answer = line.trim();
            answers[at] = (!answer.is_empty()).then(|| answer.to_owned());
            match wrong(&answers, at) {
                Some(sentence) => writeln!(output, "{sentence}")?,
                None => break,
            }
        }
    }
    Ok(Some(answers))
}

/// What is wrong with the answer at a place beside those before it, if anything.
fn wrong(answers: &Answers, at: usize) -> Option<String> {
    let is_number = |answer: &String| answer.parse::<f64>().is_ok();
    if let Some(words) =
        answers[at].as_ref().filter(|words| !QUESTIONS[at].is_text && !is_number(words))
    {
        return Some(format!("\"{words}\" is not a number; a number without its unit is wanted"));
    }
    let mut so_far = answers.clone();
    for (later, answer) in so_far.iter_mut().enumerate().skip(at + 1) {
        let is_needed = matches!(QUESTIONS[later].key, "head" | "weight_lb")
            && QUESTIONS[later].table == "herd";
        *answer = is_needed.then(|| "500".to_owned());
    }
    Farm::parse(&file(&so_far)).err().map(|error| error.problem.to_string())
}
