//! `strewn check-row` as a person uses it: rows, trials, logs, wrong sheets refused.

mod desk;

use desk::Desk;
use proptest::prelude::*;
use serde_json::Value;
use strewn::row::sheet::Sheet;
use strewn::row::weighed::evenness;

/// Rates of 5 lb/ft on pieces of 3 ft, give or take; invented.
const ROW: &str = "length_ft,weight_lb\n3,14.6\n3,15.9\n3,13.8\n3,15.1\n3,14.9\n3,16.8\n3,13.9\n";

#[test]
fn a_row_of_sheets() {
    let desk = Desk::with("row.csv", ROW);
    let text = desk.told(&["check-row", "row.csv", "--target-lb-per-ft", "5"]);
    for word in ["7 pieces of 3.00 ft", "5.00 lb/ft", "95 % interval", "Unevenness", "Grade: good"]
    {
        assert!(text.contains(word), "{word}: {text}");
    }
    assert!(desk.read("out/row.html").contains("Weighed rate along the row"));
    let json: Value = serde_json::from_str(&desk.told(&[
        "check-row",
        "row.csv",
        "--json",
        "--confidence",
        "90",
        "--out",
        "a",
    ]))
    .unwrap();
    assert_eq!(json["pieces"], 7);
    assert!(json["cv"]["low"].as_f64().unwrap() < json["cv"]["value"].as_f64().unwrap());
    assert_eq!(json["confidence"], 0.9);
}

#[test]
fn a_row_against_what_the_machine_accounted_for() {
    let desk = Desk::with("row.csv", ROW);
    desk.told(&["feed", "--out", "fed"]);
    let rate = |file: &str| {
        let arguments = ["check-row", "row.csv", "--against", file, "--json"];
        let json: Value = serde_json::from_str(&desk.told(&arguments)).unwrap();
        json["accounted_lb_ft"].as_f64().unwrap()
    };
    let (figures, log) = (rate("fed/figures.json"), rate("fed/strewn.log"));
    // The demonstration wants 3 lb/ft; the true rate and the controller's own account lie near it.
    assert!((figures - 3.0).abs() < 0.3, "{figures}");
    assert!((log - figures).abs() < 0.3, "{log} against {figures}");
    let text = desk.told(&["check-row", "row.csv", "--against", "fed/strewn.log"]);
    assert!(text.contains("above what the machine accounted for"), "{text}");
    desk.refuses(&["check-row", "row.csv", "--against", "row.csv"], &["row.csv", "not a log"]);
}

const TRIAL: &str = "block,treatment,loss_percent,residue_lb\n\
    north,ring,8.2,40\nnorth,row,6.1,31\nnorth,bare,25.0,160\n\
    south,ring,9.0,47\nsouth,row,6.6,33\nsouth,bare,31.5,190\n\
    east,ring,7.0,35\neast,row,8.6,45\neast,bare,29.5,170\n";

#[test]
fn a_trial_is_told_as_a_bulletin_would() {
    let desk = Desk::with("trial.csv", TRIAL);
    let text = desk.told(&["check-row", "trial.csv"]);
    for word in [
        "Randomized complete block design: 3 treatments in 3 blocks.",
        "loss_percent: treatments differed (F = 106.31 on 2 and 4 degrees of freedom, P < 0.001).",
        "residue_lb: treatments differed",
        "standard error",
        "Means that share a letter do not differ by Tukey's",
        "blocks",
    ] {
        assert!(text.contains(word), "{word}: {text}");
    }
    assert!(desk.read("out/trial.html").contains("Analysis of variance"));
    let least = desk.told(&["check-row", "trial.csv", "--method", "lsd"]);
    assert!(least.contains("least significant difference"), "{least}");
    let json: Value =
        serde_json::from_str(&desk.told(&["check-row", "trial.csv", "--json"])).unwrap();
    assert_eq!(json["measures"][0]["pairs"].as_array().unwrap().len(), 3);
    assert_eq!(json["measures"][0]["means"][2]["letters"], "a");
}

#[test]
fn nothing_is_claimed_without_error_or_difference() {
    let same = "block,treatment,x\na,p,1\na,q,2\nb,p,1\nb,q,2\n";
    let text = Desk::with("t.csv", same).told(&["check-row", "t.csv"]);
    assert!(text.contains("leave no error to judge by"), "{text}");
    let alike = "treatment,x\np,1\np,2\np,3\nq,1.5\nq,2.5\nq,2\n";
    let text = Desk::with("t.csv", alike).told(&["check-row", "t.csv", "--method", "lsd"]);
    assert!(text.contains("did not differ") && text.contains("As F is not significant"), "{text}");
    assert!(text.contains("Completely randomized design"), "{text}");
}

#[test]
fn wrong_sheets() {
    let refuses = |text: &str, words: &[&str]| {
        let words = [&["a.csv"], words].concat();
        Desk::with("a.csv", text).refuses(&["check-row", "a.csv"], &words);
    };
    refuses("", &["empty", "header"]);
    refuses("length_ft\n3\n", &["line 1", "columns are missing", "`weight_lb`"]);
    refuses("length_ft,weight_lb,colour\n3,1,red\n", &["line 1", "unknown column `colour`"]);
    refuses(
        "length_ft,weight_lb\n3,heavy\n",
        &["line 2", "column `weight_lb`", "\"heavy\"", "0 to 2204"],
    );
    refuses("length_ft,weight_lb\n3,1\n3,-1\n", &["line 3", "\"-1\""]);
    refuses("length_ft,weight_lb\n3,1\n3,nan\n", &["line 3", "\"nan\""]);
    refuses("length_ft,weight_lb\n3,1\n3\n", &["line 3 has 1 fields; the header has 2"]);
    refuses("length_ft,length_ft,weight_lb\n3,3,1\n", &["line 1", "`length_ft`", "twice"]);
    refuses("length_ft,weight_lb\n3,1\n3,2\n", &["2 weighed lengths", "at least 5"]);
    refuses(
        "length_ft,weight_lb\n3,1\n3,1\n3,1\n3,1\n9,1\n",
        &["lengths reach from", "one length"],
    );
    refuses("length_ft,weight_lb\n3,0\n3,0\n3,0\n3,0\n3,0\n", &["no hay was weighed"]);
    refuses(
        "from_ft,to_ft,weight_lb\n0,3,1\n2,5,1\n",
        &["line 3", "column `from_ft`", "begins before"],
    );
    refuses("from_ft,to_ft,weight_lb\n3,3,1\n", &["line 2", "column `to_ft`", "after it begins"]);
    refuses("from_ft,weight_lb\n0,1\n", &["columns are missing"]);
    let desk = Desk::with("a.csv", [0xFF, 0xFE]);
    desk.refuses(&["check-row", "a.csv"], &["a.csv", "not text"]);
    desk.refuses(&["check-row", "b.csv"], &["b.csv", "no such file"]);
}

#[test]
fn wrong_trials_and_options() {
    let refuses = |text: &str, words: &[&str]| {
        let words = [&["a.csv"], words].concat();
        Desk::with("a.csv", text).refuses(&["check-row", "a.csv"], &words);
    };
    refuses("treatment,block\nring,a\n", &["columns of measured numbers"]);
    refuses("treatment,x\nring,1\nring,2\n", &["1 treatment; at least 2"]);
    refuses("treatment,x\nring,1\nrow,2\nrow,3\n", &["\"ring\" has 1 plot"]);
    refuses("treatment,block,x\np,a,1\nq,a,2\n", &["1 block; at least 2"]);
    refuses("treatment,block,x\np,a,1\nq,a,2\np,b,1\n", &["\"q\" stands 0 times in block \"b\""]);
    refuses("treatment,block,x\np,a,1\nq,a,2\np,a,2\nq,b,2\n", &["stands 2 times"]);
    refuses("treatment,block,x\np,a,1\n,a,2\n", &["line 3", "column `treatment`", "1 to 60"]);
    refuses("treatment,block,x\np,a,much\n", &["line 2", "column `x`", "\"much\""]);
    let desk = Desk::with("t.csv", TRIAL);
    desk.refuses(
        &["check-row", "t.csv", "--target-lb-per-ft", "5"],
        &["t.csv", "for a weighed row"],
    );
    desk.refuses(&["check-row", "t.csv", "--confidence", "100"], &["'100'", "50 to 99.9"]);
    desk.refuses(&["check-row", "t.csv", "--target-lb-per-ft", "x"], &["'x'", "0.1 to 100"]);
    desk.refuses(&["check-row", "t.csv", "--out", "t.csv"], &["a folder is wanted"]);
}

fn pieces(text: &str) -> Vec<strewn::row::weighed::Length> {
    match Sheet::parse(text.as_bytes()).unwrap() {
        Sheet::Row(pieces) => pieces,
        Sheet::Trial(_) => panic!("a row"),
    }
}

#[test]
fn the_same_row_in_every_form() {
    let feet = pieces("weight_lb,length_ft\n10,3\n11,3\n12,3\n");
    let places = pieces("\u{feff}From_ft , To_ft, Weight_lb\r\n0,3,10\r\n3,6,11\r\n6,9,12\r\n");
    let metric =
        pieces("length_m,weight_kg\n0.9144,4.5359237\n0.9144,4.98951607\n0.9144,5.44310844\n");
    for (one, others) in feet.iter().zip(places.iter().zip(&metric)) {
        for other in [others.0, others.1] {
            assert!((one.from_m - other.from_m).abs() < 1e-9);
            assert!((one.rate_kg_m() - other.rate_kg_m()).abs() < 1e-9);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn scale_changes_rates_but_no_evenness(
        weights in proptest::collection::vec(1.0..30.0f64, 5..40), factor in 0.2..5.0f64,
    ) {
        let sheet = |by: f64| {
            let lines: String = weights.iter().map(|weight| format!("3,{}\n", weight * by)).collect();
            evenness(&pieces(&format!("length_ft,weight_lb\n{lines}")), None, 0.9).unwrap()
        };
        let (one, other) = (sheet(1.0), sheet(factor));
        prop_assert!((one.variation.value - other.variation.value).abs() < 1e-9);
        prop_assert!((one.unevenness.low - other.unevenness.low).abs() < 1e-9);
        prop_assert!((other.rate_kg_m.value / one.rate_kg_m.value / factor - 1.0).abs() < 1e-9);
        prop_assert!(one.variation.low <= one.variation.value && one.variation.value <= one.variation.high);
    }

    #[test]
    fn no_bytes_are_too_strange_to_be_told_about(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        if let Err(error) = Sheet::parse(&bytes) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}
