//! What the machine and its bales do to the tractor's axles and hitch.

/// Distance behind the lower links at which lift is rated, m: 24 in, as in ISO 789-2.
pub const RATED_M: f64 = 0.61;
/// Share of the tractor's own mass that must rest on the front axle. Source: axle pages of implement
/// manuals.
pub const FRONT_SHARE: f64 = 0.2;

/// The tractor as it stands, without machine and without weights in front.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tractor {
    /// Mass on the front axle, kg.
    pub front_kg: f64,
    /// Mass on the rear axle, kg.
    pub rear_kg: f64,
    /// Wheelbase, m.
    pub wheelbase_m: f64,
    /// From the front axle forward to the centre of the front weights, m.
    pub weights_ahead_m: f64,
    /// From the rear axle back to the lower links, m.
    pub links_behind_m: f64,
}

impl Tractor {
    /// Its own mass, kg.
    #[must_use]
    pub fn own_kg(&self) -> f64 {
        self.front_kg + self.rear_kg
    }
}

/// What the axles carry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axles {
    /// On the front axle, kg; negative when the tractor would tip back.
    pub front_kg: f64,
    /// On the rear axle, kg.
    pub rear_kg: f64,
    /// On the front axle as a share of the tractor's own mass.
    pub front_share: f64,
    /// Weights in front that would bring [`FRONT_SHARE`] onto the front axle, kg; none if negative.
    pub weights_needed_kg: f64,
}

/// Axle loads with a mass hung behind the lower links and weights in front.
#[must_use]
pub fn axles(tractor: &Tractor, weights_kg: f64, hung_kg: f64, behind_links_m: f64) -> Axles {
    let Tractor { front_kg, rear_kg, wheelbase_m, weights_ahead_m, links_behind_m } = *tractor;
    let own_kg = front_kg + rear_kg;
    let lever_m = weights_ahead_m + wheelbase_m;
    let tipping = hung_kg * (links_behind_m + behind_links_m);
    let front = (weights_kg * lever_m + front_kg * wheelbase_m - tipping) / wheelbase_m;
    let needed = tipping - front_kg * wheelbase_m + FRONT_SHARE * own_kg * wheelbase_m;
    Axles {
        front_kg: front,
        rear_kg: weights_kg + own_kg + hung_kg - front,
        front_share: front / own_kg,
        weights_needed_kg: needed / lever_m,
    }
}

/// Tractor, weights and machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Hitch {
    /// The tractor.
    pub tractor: Tractor,
    /// Weights in front, kg.
    pub weights_kg: f64,
    /// The machine without bales, kg.
    pub machine_kg: f64,
    /// Its centre of mass behind the lower links, m.
    pub machine_m: f64,
    /// Centres of the bales behind the lower links, m, the first carried first; as many as it carries.
    pub bales_m: Vec<f64>,
    /// Mass that the hitch lifts at [`RATED_M`] behind the links, kg, if known.
    pub lift_kg: Option<f64>,
    /// Category of the hitch, if known.
    pub category: Option<i32>,
    /// Power of the tractor, W, if known.
    pub power_w: Option<f64>,
}

/// The tractor with a number of bales on the machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// How many bales.
    pub bales: usize,
    /// Whether they are wrapped silage of the same dry matter.
    pub wrapped: bool,
    /// Mass on the hitch, kg.
    pub hung_kg: f64,
    /// Its centre behind the lower links, m.
    pub behind_links_m: f64,
    /// The axles.
    pub axles: Axles,
    /// Share of the lift that it takes, where the lift is known. Beyond [`RATED_M`] the lift is taken to
    /// fall with the lever: assumed, on the safe side.
    pub lift_share: Option<f64>,
}

impl Hitch {
    /// The machine with the first `count` bales of a mass each.
    #[must_use]
    pub fn load(&self, count: usize, wrapped: bool, bale_kg: f64) -> Load {
        let bales_m = &self.bales_m[..count.min(self.bales_m.len())];
        let hung_kg = self.machine_kg + bale_kg * bales_m.len() as f64;
        let moment = self.machine_kg * self.machine_m + bale_kg * bales_m.iter().sum::<f64>();
        let behind_links_m = moment / hung_kg;
        let able = |lift_kg: f64| lift_kg * (RATED_M / behind_links_m.max(RATED_M));
        Load {
            bales: bales_m.len(),
            wrapped,
            hung_kg,
            behind_links_m,
            axles: axles(&self.tractor, self.weights_kg, hung_kg, behind_links_m),
            lift_share: self.lift_kg.map(|lift_kg| hung_kg / able(lift_kg)),
        }
    }
}
