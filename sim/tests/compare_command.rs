//! `strewn compare` as a person uses it: tables, page, every input changeable, wrong inputs refused.

mod desk;

use desk::Desk;
use serde_json::Value;
use strewn::compare::Question;
use strewn::compare::defaults::WAYS;

#[test]
fn the_usual_inputs_give_tables_page_and_json() {
    let desk = Desk::new();
    let text = desk.told(&["compare"]);
    for way in WAYS {
        assert!(text.matches(way).count() >= 3, "{way}: {text}");
    }
    let wide = text.lines().find(|line| line.chars().count() > 100 && !line.contains(".html"));
    assert_eq!(wide, None);
    let page = desk.read("out/compare.html");
    for word in ["Yearly cost and its parts", "most uncertain", "assumed, no source", "Buskirk"] {
        assert!(page.contains(word), "{word}");
    }
    assert!(!page.contains("<script") && !page.contains("http"), "nothing from outside");
    let json: Value =
        serde_json::from_str(&desk.told(&["compare", "--json", "--out", "again"])).unwrap();
    assert_eq!(desk.read("again/compare.html"), page, "the same bytes");
    // Every input stands there with a source.
    let inputs = json["inputs"].as_array().unwrap();
    assert_eq!(inputs.len(), 19 + 8 * 13);
    assert!(inputs.iter().all(|input| input["source"].as_str().unwrap().len() > 3));
    for way in json["ways"].as_array().unwrap() {
        let parts = way["yearly_usd"]["parts"].as_object().unwrap();
        let sum: f64 = parts.values().map(|part| part.as_f64().unwrap()).sum();
        assert!((sum - way["yearly_usd"]["total"].as_f64().unwrap()).abs() < 1e-6);
    }
}

#[test]
fn the_example_is_the_usual_inputs() {
    let desk = Desk::new();
    let example = desk.told(&["compare", "--example"]);
    std::fs::write(desk.path("ways.toml"), &example).unwrap();
    let usual = desk.told(&["compare"]);
    assert_eq!(desk.told(&["compare", "ways.toml"]), usual);
}

#[test]
fn every_input_can_be_changed() {
    let usual = Question::default();
    let lines: Vec<String> = usual.to_toml().lines().map(str::to_owned).collect();
    let is_input = |line: &&String| line.contains(" = ") && line.contains(" # ");
    let mut changed = 0;
    for line in lines.iter().filter(is_input) {
        let key = line.split(" = ").next().unwrap();
        let place = lines.iter().position(|other| std::ptr::eq(other, line)).unwrap();
        let head = lines[..place].iter().rposition(|line| line.starts_with('[')).unwrap();
        // 5.5 lies within what nearly all inputs may be; the others say what they want.
        let text = [&lines[head..head + 2].join("\n"), &format!("{key} = 5.5")]
            .map(String::as_str)
            .join("\n");
        let text = if lines[head] == "[farm]" { format!("[farm]\n{key} = 5.5") } else { text };
        match Question::parse(&text) {
            Ok(question) => {
                assert_ne!(question, usual, "{key}");
                changed += 1;
            }
            Err(error) => assert!(error.to_string().contains("allowed is"), "{error}"),
        }
    }
    assert!(changed > 80, "{changed}");
}

#[test]
fn storage_is_looked_up() {
    let loss = |text: &str| Question::parse(text).unwrap().farm.stored_loss;
    let barn = loss("[farm]\nstored = \"barn\"\n");
    assert!(barn.low == 0.0 && barn.high == 0.06 && barn.source.contains("Lane"));
    let long = loss("[farm]\nstored = \"barn\"\nstored_months = 15\n");
    assert!(long.high == 0.05 && long.source.contains("12 to 18 months"));
    // What a person states counts before what was looked up.
    assert_eq!(loss("[farm]\nstored = \"barn\"\nstorage_loss_percent = 50\n").mode, 0.5);
}

#[test]
fn wrong_inputs() {
    let refuses = |text: &str, words: &[&str]| {
        let words = [&["ways.toml"], words].concat();
        Desk::with("ways.toml", text).refuses(&["compare", "ways.toml"], &words);
    };
    refuses("[farm]\nhead = -3\n", &["line 2", "`head` in [farm]", "-3", "1 to 100000"]);
    refuses("[farm]\nhead = [100, 90, 120]\n", &["[100, 90, 120]", "lowest, likeliest, highest"]);
    refuses("[farm]\nhead = [100, 120]\n", &["[100, 120]", "lowest, likeliest, highest"]);
    refuses("[farm]\nhaed = 3\n", &["line 2", "did you mean `head`?"]);
    refuses("[[way]]\nloss_percent = 3\n", &["`name` in [[way]] 1 is missing", "open ring"]);
    refuses("[[way]]\nname = \"a net\"\n", &["\"a net\"", "\"wagon\""]);
    refuses("[[way]]\nname = \"wagon\"\nloss_percent = 100\n", &["line 3", "0 to 80"]);
    refuses("[farm]\nstored = \"shed\"\n", &["line 2", "\"shed\"", "\"barn\""]);
    refuses("[farm]\nstored_months = 7\n", &["`stored` in [farm] is missing", "\"roof\""]);
    refuses("against = \"nothing\"\n", &["`against`", "whole bale on open ground"]);
    let desk = Desk::with("ways.toml", "name = \"a\"\n");
    desk.refuses(&["compare", "none.toml"], &["none.toml", "no such file"]);
    desk.refuses(&["compare", "--example", "ways.toml"], &["--example", "cannot be used with"]);
    desk.refuses(&["compare", "--out", "ways.toml"], &["a folder is wanted"]);
}
