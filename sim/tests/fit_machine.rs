//! A modelled machine whose truth is known is found again from its log, and nothing is claimed that
//! the log cannot tell.

use strewn::bench::scenario::Scenario;
use strewn::bench::{Contest, MachineFile, contest, contest_with};
use strewn::fit::{Finding, Fit, fit, machine_file, words};

const BALE: &str = "[[drive]]\nspeed_mph = 0\nfor_s = 4\n[[drive]]\nspeed_mph = 3\nfor_s = 45\n\
                    [[drive]]\nspeed_mph = 0\nfor_s = 4\n[[drive]]\nspeed_mph = 2\nfor_s = 60\n";

fn fed(text: &str, seed: u64) -> Contest {
    contest(&Scenario::parse(text).unwrap(), None, seed, &mut |_| {}).unwrap()
}

fn fitted(log: &[u8]) -> Fit {
    fit(&[log.to_vec()]).unwrap().unwrap()
}

/// The figure lies within three of its standard errors of the truth, and these are not so wide that
/// it says nothing.
#[track_caller]
fn finds(what: &str, finding: &Finding, truth: f64, widest: f64) {
    let Finding::Found { value, deviation } = finding else { panic!("{what}: {finding:?}") };
    assert!(deviation > &0.0 && *deviation <= widest, "{what}: {value} +/- {deviation}");
    assert!(
        (value - truth).abs() <= 3.0 * deviation,
        "{what}: {value} +/- {deviation}, not {truth}"
    );
}

#[test]
fn a_known_machine_is_found_again() {
    // Dead band, hysteresis, lag; the remote's flow over the displacement gives 5.78 and 4.81 turns/s.
    for (seed, dead_band, play, lag_s, gallons) in
        [(1, 15.0, 4.0, 0.12, 24.0), (2, 22.0, 6.0, 0.2, 20.0)]
    {
        let machine = format!(
            "[machine]\ndead_band_percent = {dead_band}\nhysteresis_percent = {play}\n\
             valve_lag_s = {lag_s}\nremote_flow_gpm = {gallons}\n"
        );
        let contest = fed(&format!("{machine}{BALE}"), seed);
        let found = fitted(&contest.log);
        // 1 US gallon is 231 cubic inches; 16 of them move the rollers once around.
        let full_turns_s = gallons * 231.0 / 60.0 / 16.0;
        let drive = &found.drive;
        finds("dead band", &drive.dead_band, dead_band / 100.0, 0.02);
        finds("play", &drive.play, play / 100.0, 0.01);
        finds("lag", &drive.lag_s, lag_s, 0.03);
        finds("full speed", &drive.full_turns_s, full_turns_s, 0.3);
        // 7e-12 m3/s for each Pa, the law's default, through 16 cubic inches a turn.
        finds("leakage", &drive.leak_turns_s_mpa, -7e-6 / (16.0 * 1.638_706_4e-5), 0.01);
        bite_is_found(&contest, &found);
    }
}

/// The bite against that of the model's own samples, taken over what the rollers tore.
fn bite_is_found(contest: &Contest, found: &Fit) {
    let settings = found.config.build().unwrap();
    let ticket = settings.estimate.ticket(0);
    let law_kg = |left_kg: f64| {
        let left = strewn_controller::units::Mass::from_milli((left_kg * 1e3) as i32);
        f64::from(ticket.expected_bite(left).to_milli()) * 1e-3
    };
    let whole_kg = contest.runs[0].bales[0].mass_kg;
    let torn = contest.runs[0].samples.iter().filter(|sample| {
        sample.roller_turns_s > 0.15 && (0.1 * whole_kg..0.98 * whole_kg).contains(&sample.left_kg)
    });
    let (mut true_kg, mut expected_kg) = (0.0, 0.0);
    for sample in torn {
        true_kg += sample.bite_kg * sample.roller_turns_s;
        expected_kg += law_kg(sample.left_kg) * sample.roller_turns_s;
    }
    let full_kg = law_kg(1e4) * true_kg / expected_kg;
    finds("bite", &found.bites[0].full_kg, full_kg, 0.1 * full_kg);
    assert_eq!(found.bites[0].bales, 1);
}

#[test]
fn the_flow_that_runs_out_is_found() {
    // 800 engine turns a minute give 0.42 of the flow at 1,900: 2.43 turns/s.
    let text = "target_lb_per_ft = 8\nheed = \"never\"\n[tractor]\nengine_rpm = 800\n[machine]\n\
                remote_flow_gpm = 24\n[sensors]\npressure = false\n";
    let found = fitted(&fed(&format!("{text}{BALE}"), 3).log);
    let limit = 800.0 / 1_900.0 * 24.0 * 231.0 / 60.0 / 16.0;
    let Finding::Found { value, .. } = found.drive.limit_turns_s else {
        panic!("{:?}", found.drive.limit_turns_s)
    };
    // Less what leaks past the motors: up to 0.27 turns/s at 10 MPa, within the relief pressure.
    assert!((limit - 0.5..limit).contains(&value), "{value} of {limit}");
    let file = machine_file(&found).unwrap();
    assert!(file.contains("most_rate_milliturns_s = "), "{file}");
}

#[test]
fn a_machine_without_pressure_and_weigh_cells_tells_less() {
    let found = fitted(&fed(&format!("[sensors]\npressure = false\nweigh = false\n{BALE}"), 4).log);
    let drive = &found.drive;
    // At the pressure at which was fed: what leaks there counts as a wider dead band, up to 0.27
    // turns/s at 10 MPa of 5.78 at full command.
    let Finding::Found { value, .. } = drive.dead_band else { panic!("{:?}", drive.dead_band) };
    assert!((0.14..0.15 + 0.85 * 0.27 / 5.78).contains(&value), "{value}");
    let told = words(&found);
    assert!(told.contains("no pressure sensor is fitted"), "{told}");
    assert!(told.contains("no bale was weighed or fed to its end"), "{told}");
}

#[test]
fn what_the_data_cannot_say_is_not_said() {
    let short = "[sensors]\nweigh = false\n[[drive]]\nspeed_mph = 3\nfor_s = 9\n";
    let found = fitted(&fed(short, 1).log);
    let drive = &found.drive;
    for finding in [&drive.dead_band, &drive.lag_s, &drive.full_turns_s, &drive.limit_turns_s] {
        assert!(matches!(finding, Finding::CannotSay(_)), "{finding:?}");
    }
    assert_eq!(found.bites[0].full_kg.value(), None);
    assert_eq!(machine_file(&found), None);
    let told = words(&found);
    assert!(told.matches("the data cannot say").count() >= 6, "{told}");
    assert!(told.contains("at least 10 s are wanted"), "{told}");
}

#[test]
fn the_machine_file_sets_the_controller() {
    let text = BALE;
    let scenario = Scenario::parse(text).unwrap();
    let first = fed(text, 1);
    let file = machine_file(&fitted(&first.log)).unwrap();
    let machine = MachineFile::parse(&file).unwrap();
    let second = contest_with(&scenario, None, &machine, &[], 1, &mut |_| {}).unwrap();
    let config = strewn::bench::configuration(&second.log).unwrap();
    for line in [
        format!("dead_band_permille = {} ", config.metering.dead_band_permille),
        format!("valve_lag_ms = {} ", config.metering.valve_lag_ms),
        format!("full_rate_milliturns_s = {} ", config.metering.full_rate_milliturns_s),
        format!("bite_g = {} ", config.tickets[0].bite_g),
    ] {
        assert!(file.contains(&line), "no {line:?} in: {file}");
    }
    assert!(first.log != second.log);
    let other = fit(&[
        first.log,
        fed("[[ticket]]\nweight_lb = 900\n[[drive]]\nspeed_mph = 3\nfor_s = 5\n", 1).log,
    ]);
    let told = other.unwrap_err();
    assert_eq!(told.log(), 1);
    assert!(told.to_string().contains("differ from those of the first log"));
}
