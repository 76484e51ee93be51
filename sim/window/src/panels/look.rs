//! Colours, of which none tells anything alone: blue to orange is told apart by every kind of eye, and
//! words, dashes or shapes stand beside each.

use egui::{Color32, Stroke, Visuals};
use strewn_controller::safety::Phase;

/// Colours of one theme.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Whether it is the dark one.
    pub dark: bool,
    /// Ground of pictures.
    pub paper: Color32,
    /// Words and lines.
    pub ink: Color32,
    /// Lesser words.
    pub soft: Color32,
    /// Edges of what can be pressed.
    pub edge: Color32,
    /// Frames and grids.
    pub line: Color32,
    /// What the controller does or believes.
    pub own: Color32,
    /// What is asked for.
    pub asked: Color32,
    /// The second lane.
    pub beside: Color32,
    /// Laid against target, thinnest first.
    pub heat: [Color32; 9],
    /// Hay, loosest first.
    pub hay: [Color32; 2],
    /// Bare ground.
    pub soil: Color32,
    /// Tyres and teeth.
    pub rubber: Color32,
    /// Steel of tractor and machine.
    pub steel: Color32,
    laying: Color32,
    ready: Color32,
    resting: Color32,
    stopped: Color32,
    /// Slow for the core.
    pub core: Color32,
    /// Waiting for the ground.
    pub holding: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const HEAT: [Color32; 9] = [
    rgb(0x08_519c),
    rgb(0x31_82bd),
    rgb(0x7f_b8dd),
    rgb(0xc6_dff0),
    rgb(0xfd_fdfd),
    rgb(0xfd_dbb5),
    rgb(0xfd_ae6b),
    rgb(0xe6_710f),
    rgb(0x8c_2d04),
];

const LIGHT: Look = Look {
    dark: false,
    paper: rgb(0xff_ffff),
    ink: rgb(0x1b_1b1b),
    soft: rgb(0x56_5656),
    edge: rgb(0x8a_8a86),
    line: rgb(0xd4_d4d0),
    own: rgb(0x00_67a3),
    asked: rgb(0xc2_5200),
    beside: rgb(0xa8_4f85),
    heat: HEAT,
    hay: [rgb(0xea_d9a0), rgb(0x007a_5a1e)],
    soil: rgb(0xc9_c3b2),
    rubber: rgb(0x24_2628),
    steel: rgb(0x5b_646e),
    laying: rgb(0x8f_c7e8),
    ready: rgb(0xf0_e442),
    resting: rgb(0xe2_e2e2),
    stopped: rgb(0xe8_8a4a),
    core: rgb(0xf2_c27b),
    holding: rgb(0xdd_a9c8),
};

const DARK: Look = Look {
    dark: true,
    paper: rgb(0x16_181b),
    ink: rgb(0xe9_e9e6),
    soft: rgb(0xa9_adb2),
    edge: rgb(0x78_7f88),
    line: rgb(0x3a_3e44),
    own: rgb(0x56_b4e9),
    asked: rgb(0xf0_8a3c),
    beside: rgb(0xdd_9cc2),
    heat: HEAT,
    hay: [rgb(0xea_d9a0), rgb(0x0083_6125)],
    soil: rgb(0x52_4e44),
    rubber: rgb(0x08_090a),
    steel: rgb(0x96_a0ab),
    laying: rgb(0x2b_6c96),
    ready: rgb(0x6b_6410),
    resting: rgb(0x3a_3e44),
    stopped: rgb(0xa8_4a0c),
    core: rgb(0x7d_581d),
    holding: rgb(0x87_456a),
};

impl Look {
    /// The colours of the theme in force.
    #[must_use]
    pub fn of(ui: &egui::Ui) -> Self {
        if ui.visuals().dark_mode { DARK } else { LIGHT }
    }

    /// The same colours for buttons and texts.
    #[must_use]
    pub fn visuals(dark: bool) -> Visuals {
        let (look, mut visuals) =
            if dark { (DARK, Visuals::dark()) } else { (LIGHT, Visuals::light()) };
        visuals.override_text_color = Some(look.ink);
        visuals.selection.bg_fill = look.laying;
        visuals.selection.stroke = Stroke::new(1.5, look.ink);
        // What can be pressed has an edge, whatever its filling.
        for widget in [&mut visuals.widgets.inactive, &mut visuals.widgets.noninteractive] {
            widget.bg_stroke = Stroke::new(1.0, look.edge);
        }
        // Whoever walks by keyboard must see where he is.
        visuals.widgets.hovered.bg_stroke = Stroke::new(1.5, look.own);
        visuals.widgets.active.bg_stroke = Stroke::new(2.5, look.own);
        visuals.hyperlink_color = look.own;
        visuals
    }

    /// Colour and words of what the machine does.
    #[must_use]
    pub fn phase(&self, phase: Phase) -> (Color32, &'static str) {
        match phase {
            Phase::Resting => (self.resting, "resting"),
            Phase::Testing => (self.ready, "testing"),
            Phase::Armed => (self.ready, "armed"),
            Phase::Laying => (self.laying, "laying"),
            Phase::Paused => (self.resting, "paused"),
            Phase::Latched => (self.stopped, "stopped"),
            Phase::Isolated => (self.stopped, "isolated"),
        }
    }

    /// Hay of a density between the loosest, 0, and the densest, 1.
    #[must_use]
    pub fn hay_of(&self, share: f64) -> Color32 {
        let share = share.clamp(0.0, 1.0) as f32;
        self.hay[0].lerp_to_gamma(self.hay[1], share)
    }
}
