//! Sensors of the hay that tell what cannot be.

use crate::machine::Machine;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::step::State;
use strewn_controller::wires::SwitchBits;

/// Hay does not leave an even bale at once: a scale that says so is not believed, even when it tells the
/// truth again, before another bale lies there.
#[test]
fn a_scale_that_tells_what_cannot_be_is_lost_until_the_next_bale() {
    let is_lost = |machine: &Machine| machine.outputs.view.carrying_on.has(Condition::WeighLost);
    let mut machine = Machine::laying();
    machine.run(2.0);
    assert!(!is_lost(&machine));
    let left = machine.outputs.view.left;
    machine.held_kilograms = Some(150.0);
    machine.run(1.0);
    assert!(is_lost(&machine));
    assert_eq!(machine.phase(), Phase::Laying);
    assert!(machine.outputs.view.left > left.halved(1), "the account did not follow");
    machine.held_kilograms = None;
    machine.run(1.0);
    assert!(is_lost(&machine));
    machine.press(SwitchBits::NEW_BALE);
    machine.run(1.0);
    assert!(!is_lost(&machine));
}

/// With what was learned before power was off, a scale that lies at once takes nothing of it away.
#[test]
fn a_scale_that_lies_after_power_on_leaves_the_bite_as_it_was() {
    let mut machine = Machine::laying();
    machine.run(3.0);
    let learned = machine.state.learned();
    let mut again = Machine::new();
    again.state = State::with_learned(&again.settings, &learned);
    again.run(0.5);
    again.lay();
    again.run(0.5);
    let bite = again.outputs.view.bite;
    again.held_kilograms = Some(100.0);
    again.run(1.0);
    assert!(again.outputs.view.carrying_on.has(Condition::WeighLost));
    let change = again.outputs.view.bite.saturating_sub(bite).magnitude();
    assert!(change < bite.halved(2), "{bite:?} became {:?}", again.outputs.view.bite);
}
