//! Numbers as people read them here.

use strewn::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH, PA_PER_PSI};

/// Turns a minute in a turn a second.
pub(super) const RPM: f64 = 60.0;

/// Pounds, from kg.
#[must_use]
pub(super) fn pounds(kg: f64) -> f64 {
    kg / KG_PER_LB
}

/// Pounds a foot, from kg/m.
#[must_use]
pub(super) fn pounds_foot(kg_m: f64) -> f64 {
    kg_m / KG_M_PER_LB_FT
}

/// Miles an hour, from m/s.
#[must_use]
pub(super) fn mph(m_s: f64) -> f64 {
    m_s / M_S_PER_MPH
}

/// Pounds per square inch, from Pa.
#[must_use]
pub(super) fn psi(pa: f64) -> f64 {
    pa / PA_PER_PSI
}

/// Feet, from m.
#[must_use]
pub(super) fn feet(m: f64) -> f64 {
    m / M_PER_FT
}

/// Minutes, seconds and tenths.
#[must_use]
pub(super) fn minutes(time_s: f64) -> String {
    let tenths = (time_s.max(0.0) * 10.0).floor() as u64;
    format!("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
}

/// A number with so many decimals; a dash where there is none.
#[must_use]
pub(super) fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "-".to_owned();
    }
    let text = format!("{value:.decimals$}");
    let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_cut_and_never_below_zero() {
        assert_eq!(minutes(125.96), "2:05.9");
        assert_eq!(minutes(-1.0), "0:00.0");
        assert_eq!(number(f64::NAN, 1), "-");
        assert_eq!(number(-0.01, 1), "0.0");
        assert_eq!(number(-0.1, 1), "-0.1");
    }
}
