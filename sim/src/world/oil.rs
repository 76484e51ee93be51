//! Oil and copper by temperature.

/// Absolute zero, Celsius.
const ZERO_C: f64 = -273.15;

/// Viscosity of an oil by temperature: `log10 log10 (v + 0.7) = a - b log10 T`, v in mm2/s, T in K.
///
/// Source: ASTM D341, Standard practice for viscosity-temperature charts for liquid petroleum products.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oil {
    /// Constant a.
    pub a: f64,
    /// Constant b.
    pub b: f64,
}

/// Grades of hydraulic oil by ISO 3448: viscosity at 40 C from the grade, at 100 C of a common oil of
/// that grade (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// 46 and 6.8 mm2/s.
    Vg46,
    /// 68 and 8.7 mm2/s.
    Vg68,
}

impl Grade {
    /// The oil of this grade.
    #[must_use]
    pub fn oil(self) -> Oil {
        match self {
            Self::Vg46 => Oil::through((40.0, 46.0), (100.0, 6.8)),
            Self::Vg68 => Oil::through((40.0, 68.0), (100.0, 8.7)),
        }
    }
}

impl Oil {
    /// The oil that has two viscosities, mm2/s above 0.3, at two temperatures, C, that differ.
    #[must_use]
    pub fn through(low: (f64, f64), high: (f64, f64)) -> Self {
        let x = |celsius: f64| libm::log10(celsius - ZERO_C);
        let y = |mm2_s: f64| libm::log10(libm::log10(mm2_s + 0.7));
        let b = (y(low.1) - y(high.1)) / (x(high.0) - x(low.0));
        Self { a: y(low.1) + b * x(low.0), b }
    }

    /// Kinematic viscosity, mm2/s, at a temperature, C, above absolute zero.
    #[must_use]
    pub fn viscosity_mm2_s(self, celsius: f64) -> f64 {
        let y = self.a - self.b * libm::log10(celsius - ZERO_C);
        libm::pow(10.0, libm::pow(10.0, y)) - 0.7
    }
}

/// Resistance of a copper coil at a temperature, C, over that at 20 C: 0.393 % a kelvin.
///
/// Source: IEC 60028, International standard of resistance for copper, 1925 (from memory).
#[must_use]
pub fn copper_resistance(celsius: f64) -> f64 {
    1.0 + 0.003_93 * (celsius - 20.0)
}
