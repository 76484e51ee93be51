//! The judge is itself tried: controllers with a defect planted in them must not pass.

#[cfg(test)]
mod tests {
    use crate::faults::{Kind, Wire};
    use crate::random::Stream;
    use crate::stops::judge::Breach;
    use crate::stops::machine::{Machine, Step};
    use crate::stops::moment::Moment;
    use crate::stops::worlds::Drawn;
    use strewn_controller::safety::{Condition, Phase};
    use strewn_controller::settings::Settings;
    use strewn_controller::step::{State, step};
    use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

    /// The core's tick with some switches held closed.
    fn deaf(settings: &Settings, state: &mut State, inputs: &Inputs, closed: u16) -> Outputs {
        let mut inputs = inputs.clone();
        inputs.switches.0 |= closed;
        step(settings, state, &inputs)
    }

    /// The core's tick, but going on where it stopped for one of these causes.
    fn heedless(
        settings: &Settings,
        state: &mut State,
        inputs: &Inputs,
        causes: &[Condition],
    ) -> Outputs {
        let mut outputs = step(settings, state, inputs);
        // What the core's own feedback would find next is passed over as well.
        let also = [Condition::SupplyUnasked, Condition::CoilUnasked, Condition::RollersRunOn];
        let heeded = |cause| !causes.contains(&cause) && !also.contains(&cause);
        if outputs.view.cause.is_some_and(|cause| !heeded(cause)) {
            (outputs.valve, outputs.enable) = (14_000, true);
            outputs.view.phase = Phase::Laying;
        }
        outputs
    }

    /// A defect, what brings it to light, and the breaches that may be found first.
    type Planted = (&'static str, Step, Moment, Wire, Kind, &'static [Breach]);

    fn planted() -> Vec<Planted> {
        use Condition as C;
        const RUN: u16 = SwitchBits::RUN | SwitchBits::RUN_B;
        let calm = (Moment::Laying, Wire::Gauge, Kind::Noise);
        let in_calm = |name: &'static str, step: Step, breaches: &'static [Breach]| -> Planted {
            (name, step, calm.0, calm.1, calm.2, breaches)
        };
        vec![
            in_calm("deaf to the stop", |s, t, i| deaf(s, t, i, 6), &[Breach::Deaf]),
            in_calm("deaf to letting go", |s, t, i| deaf(s, t, i, RUN), &[Breach::Deaf]),
            in_calm("deaf to all", |s, t, i| deaf(s, t, i, RUN | 7), &[Breach::Deaf]),
            in_calm(
                "enable always on",
                |s, t, i| Outputs { enable: true, ..step(s, t, i) },
                &[Breach::Deaf, Breach::Acts],
            ),
            in_calm(
                "valve never quite shut",
                |s, t, i| {
                    let outputs = step(s, t, i);
                    Outputs { valve: outputs.valve.max(300), ..outputs }
                },
                &[Breach::Deaf, Breach::Reverse],
            ),
            in_calm(
                "reverse",
                |s, t, i| {
                    let outputs = step(s, t, i);
                    Outputs { valve: -outputs.valve, ..outputs }
                },
                &[Breach::Reverse],
            ),
            in_calm(
                "wide open",
                |s, t, i| {
                    let outputs = step(s, t, i);
                    Outputs { valve: if outputs.valve > 0 { i16::MAX } else { 0 }, ..outputs }
                },
                // The core itself stops the runaway in time; the pulse at arming gives it away.
                &[Breach::Acts],
            ),
            (
                "starts by itself",
                |s, t, i| {
                    let mut inputs = i.clone();
                    let beat = i.now.to_micros() / 400_000 % 3;
                    inputs.switches.0 |= if beat == 1 { SwitchBits::ARM } else { 0 };
                    inputs.switches.0 |= if beat == 2 { RUN } else { 0 };
                    step(s, t, &inputs)
                },
                Moment::Latched,
                Wire::Gauge,
                Kind::Noise,
                &[Breach::Acts, Breach::Deaf],
            ),
            (
                "starts at the first act",
                |s, t, i| {
                    let outputs = step(s, t, i);
                    let armed = outputs.view.phase == Phase::Armed;
                    Outputs {
                        valve: if armed { 9_000 } else { outputs.valve },
                        enable: armed || outputs.enable,
                        ..outputs
                    }
                },
                Moment::Armed,
                Wire::Gauge,
                Kind::Noise,
                &[Breach::Acts, Breach::Deaf],
            ),
            (
                "goes on when late",
                |s, t, i| heedless(s, t, i, &[C::TickLate, C::ClockBroken, C::TicksSlow]),
                Moment::Laying,
                Wire::Clock,
                Kind::Spike,
                &[Breach::Clock],
            ),
            (
                "goes on with a driver stuck on",
                |s, t, i| {
                    heedless(
                        s,
                        t,
                        i,
                        &[
                            C::RollersTooFast,
                            C::RollersAboveAsked,
                            C::PressureHigh,
                            C::RollersRunOn,
                            C::CoilUnasked,
                        ],
                    )
                },
                Moment::Laying,
                Wire::Valve,
                Kind::Stuck,
                // The gate sees the speed and the watchdog takes the supply: then they stand.
                &[Breach::TooFast, Breach::Runaway, Breach::Reached, Breach::Stalled],
            ),
            (
                "goes on without turning",
                |s, t, i| {
                    heedless(
                        s,
                        t,
                        i,
                        &[C::RollersNotTurning, C::RollersStalled, C::CoilOpen, C::SupplyMissing],
                    )
                },
                Moment::Laying,
                Wire::Valve,
                Kind::Off,
                &[Breach::Stalled],
            ),
            (
                "lays on the spot",
                |s, t, i| {
                    heedless(s, t, i, &[C::GroundStopped, C::SpeedsDisagree, C::GroundSpeedLost])
                },
                Moment::Laying,
                Wire::Bus,
                Kind::Frozen,
                &[Breach::Standing, Breach::Runaway, Breach::Stalled],
            ),
        ]
    }

    #[test]
    fn every_planted_defect_is_caught() {
        let drawn = Drawn::new(5, 0).unwrap();
        let moments = Machine::new(&drawn).moments();
        for (name, controller, moment, wire, kind, breaches) in planted() {
            let (_, start) = moments.iter().find(|(found, _)| *found == moment).unwrap();
            let run = |step: Step, draw| {
                let random = Stream::root(7).numbered(draw);
                start.clone().under(step).trial(moment, &[(wire, kind)], random).breach
            };
            let found: Vec<_> = (0..16).filter_map(|draw| run(controller, draw)).collect();
            assert!(!found.is_empty(), "{name}: passed");
            assert!(found.iter().all(|breach| breaches.contains(breach)), "{name}: {found:?}");
            assert!(
                (0..16).all(|draw| run(step, draw).is_none()),
                "{name}: the core is blamed as well"
            );
        }
        assert!(planted().len() >= 10);
    }
}
