//! How flow off the rollers answers a step of ground speed, with cold and with hot oil.
//!
//! Metrics as usual for actuators: settling into a band of 5 % around the new value; overshoot as the peak
//! over it (as in a study of tractor steering valves, Machines 13(2), 138, 2025). Steps of one direction
//! are averaged, so that tufts and the noise of single readings do not hide the answer. The oil is as
//! cold and as hot as 14 and 194 F.

use strewn::bench::contest;
use strewn::bench::ground_speed::Recording;
use strewn::bench::record::{Run, Sample};
use strewn::bench::scenario::Scenario;
use strewn_controller::safety::Phase;

/// Slow and fast, m/s, and how long each lasts, s.
const SPEEDS_M_S: [f64; 2] = [0.95, 1.35];
const HELD_S: f64 = 8.0;
/// Steps of the recorded drive, and when the first one comes, s.
const STEPS: usize = 60;
const FIRST_S: f64 = 12.0;
/// A step as such, and how long a tractor takes for it at 0.8 m/s2, s.
const AT_ONCE_S: f64 = 0.001;
const TRACTOR_S: f64 = 0.5;
const OILS_F: [f64; 5] = [14.0, 50.0, 104.0, 150.0, 194.0];
/// Samples a second.
const SAMPLES_S: f64 = 10.0;
/// Time before a step, and time within which the new value is surely reached, in samples.
const BEFORE: usize = 10;
const SURELY: usize = 40;
const BAND: f64 = 0.05;

fn scenario(oil_f: f64) -> Scenario {
    let text = format!(
        "target_lb_per_ft = 3\n[machine]\noil_f = {oil_f}\n[sensors]\nweigh = true\npressure = true\n\
         gauge = true\n[[ticket]]\ndiameter_ft = 5\nwidth_ft = 4\nweight_lb = 1200\n{}",
        "[[bale]]\nweight_lb = 1200\n".repeat(4)
    );
    Scenario::parse(&text).expect("a scenario")
}

fn drive(step_s: f64) -> Recording {
    let mut text = "t_s,speed_m_s\n0,0.95\n".to_owned();
    for step in 0..STEPS {
        let at_s = FIRST_S + HELD_S * step as f64;
        let (from, to) = (SPEEDS_M_S[step % 2], SPEEDS_M_S[(step + 1) % 2]);
        text += &format!("{at_s},{from}\n{},{to}\n", at_s + step_s);
    }
    Recording::parse(text.as_bytes()).expect("a recording")
}

/// Mean flow off the rollers, kg/s, from a second before the steps of one direction, ten a second.
fn mean_response(run: &Run, up: bool) -> Vec<f64> {
    let length = (HELD_S * SAMPLES_S) as usize;
    let mut sum = vec![0.0; length];
    let mut count = 0.0;
    for step in (0..STEPS).filter(|step| (step % 2 == 0) == up) {
        let at = ((FIRST_S + HELD_S * step as f64) * SAMPLES_S).round() as usize - BEFORE;
        let Some(stretch) = run.samples.get(at..at + length) else { continue };
        let is_quiet = |sample: &Sample| sample.phase == Phase::Laying && sample.left_kg > 60.0;
        if stretch.iter().all(is_quiet) {
            count += 1.0;
            for (sum, sample) in sum.iter_mut().zip(stretch) {
                *sum += sample.roller_turns_s * sample.bite_kg;
            }
        }
    }
    assert!(count >= 10.0, "only {count} quiet steps");
    sum.into_iter().map(|sum| sum / count).collect()
}

/// What a step led to.
#[derive(Clone, Copy, Debug)]
struct Answer {
    /// Time from the step until the flow stays within the band, s; the longest possible if it does not.
    settled_s: f64,
    /// Peak beyond the new value, as a share of it.
    overshoot: f64,
    /// The new value over the one that lays the target.
    reached: f64,
}

fn answer(run: &Run, up: bool) -> Answer {
    let response = mean_response(run, up);
    let rest = &response[BEFORE + SURELY..];
    let new = rest.iter().sum::<f64>() / rest.len() as f64;
    let beyond = |flow: &f64| if up { flow / new - 1.0 } else { 1.0 - flow / new };
    let after = &response[BEFORE..BEFORE + SURELY];
    let outside = after.iter().rposition(|flow| (flow / new - 1.0).abs() > BAND);
    let target_kg_s = run.bales[0].target_kg_m * SPEEDS_M_S[usize::from(up)];
    Answer {
        settled_s: outside.map_or(0.0, |place| (place + 1) as f64 / SAMPLES_S),
        overshoot: after.iter().map(beyond).fold(0.0, f64::max),
        reached: new / target_kg_s,
    }
}

/// Controller and perfect knowledge at each temperature, up and down: who, oil, direction, answer.
fn answers(step_s: f64) -> Vec<(&'static str, f64, bool, Answer)> {
    let recording = drive(step_s);
    let mut answers = Vec::new();
    for oil_f in OILS_F {
        let contest = contest(&scenario(oil_f), Some(&recording), 5, &mut |_| {}).expect("runs");
        for run in [&contest.runs[0], &contest.runs[3]] {
            for up in [true, false] {
                let answer = answer(run, up);
                println!(
                    "{step_s} s, {oil_f} F, {}, {}: settled {:.1} s, overshoot {:.1} %, reached {:.3}",
                    run.contender,
                    if up { "faster" } else { "slower" },
                    answer.settled_s,
                    100.0 * answer.overshoot,
                    answer.reached,
                );
                answers.push((run.contender, oil_f, up, answer));
            }
        }
    }
    answers
}

/// Three time constants of the valve, and the fall from rollers to ground, s.
fn allowed_s() -> f64 {
    let machine = scenario(104.0).machine;
    3.0 * machine.valve_lag_s + machine.fall_s
}

#[test]
fn after_a_step_the_target_is_laid_again_with_any_oil() {
    for step_s in [AT_ONCE_S, TRACTOR_S] {
        for (who, oil_f, _, answer) in answers(step_s) {
            assert!((answer.reached - 1.0).abs() < BAND, "{who}, {oil_f} F: {answer:?}");
        }
    }
}

/// Whether an answer keeps to the goal: settled in three time constants of the valve and the fall after
/// the ground speed has changed, and an overshoot of a twentieth at most.
fn keeps_to_the_goal(step_s: f64, answer: &Answer) -> bool {
    answer.settled_s <= step_s + allowed_s() && answer.overshoot <= BAND
}

/// Perfect knowledge keeps to the goal where a tractor changes its speed: the goal can be reached.
#[test]
fn perfect_knowledge_settles_in_time_and_without_overshoot() {
    for (who, oil_f, up, answer) in answers(TRACTOR_S) {
        let within = who == "controller" || keeps_to_the_goal(TRACTOR_S, &answer);
        assert!(within, "{oil_f} F, faster: {up}: {answer:?}");
    }
}

#[test]
#[ignore = "not reached: overshoots by a tenth to a sixth"]
fn the_controller_settles_in_time_and_without_overshoot() {
    for step_s in [AT_ONCE_S, TRACTOR_S] {
        for (who, oil_f, up, answer) in answers(step_s) {
            let within = who != "controller" || keeps_to_the_goal(step_s, &answer);
            assert!(within, "{step_s} s, {oil_f} F, faster: {up}: {answer:?}");
        }
    }
}
