//! The cab: the controller's own screen, its lamps, its switches under a person's hands.

use super::glass::Glass;
use super::look::Look;
use super::words::mph;
use crate::model::Feeding;
use egui::{Button, ComboBox, Key, RichText, Sense, Slider, Stroke, Ui, vec2};
use strewn::units::M_S_PER_MPH;
use strewn_controller::wires::LampBits;

/// Fastest ground speed that a person may ask for, mph.
const FASTEST_MPH: f64 = 8.0;
/// Lamps with their words.
const LAMPS: [(u8, &str); 5] = [
    (LampBits::ARMED, "armed"),
    (LampBits::LAYING, "laying"),
    (LampBits::STOPPED, "stopped"),
    (LampBits::STILL_TURNING, "still turning"),
    (LampBits::HORN, "horn"),
];

/// Screen, lamps and switches.
pub(super) fn show(ui: &mut Ui, feeding: &mut Feeding, glass: &mut Glass) {
    let frame = feeding.frame(0);
    glass.show(ui, &frame.view);
    lamps(ui, frame.lamps);
    buttons(ui, feeding);
    places(ui, feeding);
    tractor(ui, feeding);
    who(ui, feeding);
}

fn lamps(ui: &mut Ui, lamps: LampBits) {
    let look = Look::of(ui);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        for (bit, word) in LAMPS {
            let lit = lamps.has(bit);
            let (rect, response) = ui.allocate_exact_size(vec2(12.0, 14.0), Sense::hover());
            let fill = if lit { look.asked } else { look.paper };
            ui.painter().circle(rect.center(), 5.0, fill, Stroke::new(1.0, look.soft));
            let state = if lit { "lit" } else { "dark" };
            response.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Image, true, format!("lamp {word} {state}"))
            });
            let text = RichText::new(word).small();
            ui.label(if lit { text.strong() } else { text.color(look.soft) });
        }
    });
}

/// A button that works as long as it is held: by pointer, by space bar or enter on it, or by its key.
fn held(ui: &mut Ui, text: &str, key: Key, enabled: bool) -> (bool, bool) {
    let button = Button::new(text).sense(Sense::click_and_drag()).min_size(vec2(96.0, 30.0));
    let response = ui.add_enabled(enabled, button);
    let by_key = super::down(ui, key);
    let on_it = response.has_focus()
        && ui.input(|input| input.key_down(Key::Space) || input.key_down(Key::Enter));
    let held = enabled && (response.is_pointer_button_down_on() || by_key || on_it);
    (held, enabled && response.clicked())
}

fn buttons(ui: &mut Ui, feeding: &mut Feeding) {
    let enabled = !feeding.is_log();
    ui.horizontal_wrapped(|ui| {
        let (arm, clicked) = held(ui, "Arm [A]", Key::A, enabled);
        let (run, _) = held(ui, "Hold to run [R]", Key::R, enabled);
        let (bale, bale_clicked) = held(ui, "New bale [B]", Key::B, enabled);
        if arm || run || bale || clicked || bale_clicked {
            feeding.take_switches();
        }
        if clicked {
            feeding.grip.press_arm();
        }
        if bale_clicked {
            feeding.grip.press_new_bale();
        }
        let grip = &mut feeding.grip;
        (grip.arm, grip.run, grip.new_bale) = (arm, run, bale);
    });
    ui.horizontal_wrapped(|ui| {
        let look = Look::of(ui);
        let stopped = feeding.grip.taken && feeding.grip.stopped;
        let text = if stopped { "Release the stop [X]" } else { "STOP [X]" };
        let fill = look.phase(strewn_controller::safety::Phase::Latched).0;
        let button =
            Button::new(RichText::new(text).strong()).fill(fill).min_size(vec2(150.0, 30.0));
        if ui.add_enabled(enabled, button).clicked() {
            press_stop(feeding);
        }
        let mut kept = feeding.grip.run_kept;
        let check = egui::Checkbox::new(&mut kept, "Keep run held");
        if ui
            .add_enabled(enabled, check)
            .on_hover_text("A hand that stays on the run switch.")
            .changed()
        {
            feeding.take_switches();
            feeding.grip.run_kept = kept;
        }
    });
}

/// Presses the stop switch, or releases it.
pub(super) fn press_stop(feeding: &mut Feeding) {
    feeding.take_switches();
    feeding.grip.stopped = !feeding.grip.stopped;
}

/// The switches that are shut while all is well.
fn places(ui: &mut Ui, feeding: &mut Feeding) {
    let enabled = !feeding.is_log();
    let before = feeding.grip;
    let mut after = before;
    ui.add_enabled_ui(enabled, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.checkbox(&mut after.seated, "In the seat");
            ui.checkbox(&mut after.guard_shut, "Guards shut");
            ui.checkbox(&mut after.hitch_down, "Hitch down");
            ui.checkbox(&mut after.level, "Level");
        });
    });
    if after != before {
        feeding.take_switches();
        let grip = &mut feeding.grip;
        (grip.seated, grip.guard_shut) = (after.seated, after.guard_shut);
        (grip.hitch_down, grip.level) = (after.hitch_down, after.level);
    }
}

fn tractor(ui: &mut Ui, feeding: &mut Feeding) {
    if !feeding.grip.taken {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let mut wanted = mph(feeding.grip.wanted_m_s);
        ui.spacing_mut().slider_width = 110.0;
        let slider = Slider::new(&mut wanted, 0.0..=FASTEST_MPH).step_by(0.1).suffix(" mph");
        if ui.add(slider.text("Drive at")).changed() {
            feeding.grip.wanted_m_s = wanted * M_S_PER_MPH;
        }
        let tickets = &feeding.job.scenario.tickets;
        let name = |ticket: usize| tickets.get(ticket).map_or("-", |ticket| ticket.name.as_str());
        let mut chosen = usize::from(feeding.grip.ticket);
        let combo = ComboBox::from_label("Ticket").selected_text(name(chosen)).width(110.0);
        combo.show_ui(ui, |ui| {
            for ticket in 0..tickets.len() {
                ui.selectable_value(&mut chosen, ticket, name(ticket));
            }
        });
        feeding.grip.ticket = u8::try_from(chosen).unwrap_or(0);
    });
    let next = feeding.next_bale().and_then(|bale| feeding.job.scenario.bales.get(bale));
    if let Some(next) = next {
        let ticket = feeding.job.scenario.tickets.get(next.ticket);
        let ticket = ticket.map_or("-", |ticket| ticket.name.as_str());
        ui.small(format!("New bale puts on: {} (ticket {ticket})", next.name));
    }
}

fn who(ui: &mut Ui, feeding: &mut Feeding) {
    ui.horizontal_wrapped(|ui| {
        if feeding.grip.taken {
            ui.strong("You have the switches.");
            if ui.button("Give them back to the driver").clicked() {
                feeding.give_back_switches();
            }
        } else if feeding.is_log() {
            ui.label("A log: its switches are history.");
        } else {
            ui.label("The scenario's driver has the switches; touch one to take them.");
        }
    });
}
