//! A scenario file into a [`Scenario`]: defaults, ranges, US units into SI.

use super::{Heed, Leg, Scenario, ScenarioError, Sensors, lots};
use crate::instruments::speed::BusSpeed;
use crate::table::{Table, parsed};
use crate::units::{KG_M_PER_LB_FT, M_PER_FT, M_S_PER_MPH, M3_PER_IN3, M3_S_PER_GPM, PA_PER_PSI};
use crate::world::oil::Grade;
use crate::world::spec::{MachineSpec, TractorSpec};
use crate::world::terrain::TerrainSpec;

/// Longest drive, s: two hours.
const LONGEST_DRIVE_S: f64 = 7_200.0;
/// Speed of a drive that nobody stated, mph. Common practice, no source.
const USUAL_MPH: f64 = 3.0;

const HEEDS: &[(&str, Heed)] =
    &[("promptly", Heed::Promptly), ("late", Heed::Late), ("never", Heed::Never)];
const OILS: &[(&str, Grade)] = &[("VG 46", Grade::Vg46), ("VG 68", Grade::Vg68)];
const BUS_SPEEDS: &[(&str, Option<BusSpeed>)] = &[
    ("none", None),
    ("ground-based", Some(BusSpeed::Ground)),
    ("wheel-based", Some(BusSpeed::Wheel)),
    ("machine-selected", Some(BusSpeed::Selected)),
];

pub(super) fn scenario(text: &str) -> Result<Scenario, ScenarioError> {
    parsed(text, read)
}

fn read(top: &mut Table<'_>) -> Result<Scenario, ScenarioError> {
    let name = top.text("name")?.unwrap_or("unnamed").to_owned();
    let target_kg_m = top.number("target_lb_per_ft", 0.5..=40.0)?.unwrap_or(3.0) * KG_M_PER_LB_FT;
    let row_length_m = top.number("row_length_ft", 10.0..=6_000.0)?.map(|feet| feet * M_PER_FT);
    let heed = top.word("heed", HEEDS)?.unwrap_or(Heed::Promptly);
    let between_bales_s = top.number("between_bales_s", 0.0..=600.0)?.unwrap_or(8.0);
    let machine = machine(top.table("machine")?)?;
    let tractor = tractor(top.table("tractor")?)?;
    let sensors = sensors(top.table("sensors")?)?;
    let tickets = lots::tickets(top)?;
    let bales = lots::bales(top, &tickets)?;
    let drive = drive(top)?;
    let mut scenario = Scenario {
        name,
        target_kg_m,
        row_length_m,
        machine,
        tickets,
        bales,
        tractor,
        drive,
        heed,
        sensors,
        between_bales_s,
    };
    if scenario.drive.is_empty() {
        scenario.drive = vec![usual_leg(&scenario)];
    }
    Ok(scenario)
}

/// One leg, long enough for all bales with a quarter to spare.
fn usual_leg(scenario: &Scenario) -> Leg {
    let speed_m_s = USUAL_MPH * M_S_PER_MPH;
    let mass_kg: f64 = scenario.bales.iter().map(|bale| bale.spec.mass_kg).sum();
    let pauses_s = scenario.between_bales_s * scenario.bales.len() as f64;
    let feeding_s = mass_kg / (scenario.target_kg_m * speed_m_s);
    let duration_s = (feeding_s * 1.25 + pauses_s + 20.0).min(LONGEST_DRIVE_S);
    Leg { speed_m_s, duration_s, feed: true }
}

pub(crate) fn machine(table: Option<Table<'_>>) -> Result<MachineSpec, ScenarioError> {
    let mut spec = MachineSpec::default();
    let Some(mut table) = table else { return Ok(spec) };
    let mut set = |key, low: f64, high: f64, unit: f64, field: &mut f64| {
        let number = table.number(key, low..=high)?;
        *field = number.map_or(*field, |number| number * unit);
        Ok(())
    };
    set("roller_diameter_in", 6.0, 36.0, M_PER_FT / 12.0, &mut spec.roller_diameter_m)?;
    set("displacement_in3", 2.0, 100.0, M3_PER_IN3, &mut spec.displacement_m3)?;
    set("remote_flow_gpm", 3.0, 60.0, M3_S_PER_GPM, &mut spec.remote_flow_m3_s)?;
    set("pump_in3_per_turn", 1.0, 20.0, M3_PER_IN3, &mut spec.pump_m3_per_turn)?;
    set("relief_psi", 500.0, 4_000.0, PA_PER_PSI, &mut spec.relief_pa)?;
    set("dead_band_percent", 0.0, 50.0, 0.01, &mut spec.dead_band)?;
    set("hysteresis_percent", 0.0, 20.0, 0.01, &mut spec.hysteresis)?;
    set("valve_lag_s", 0.01, 1.0, 1.0, &mut spec.valve_lag_s)?;
    set("fall_s", 0.1, 1.5, 1.0, &mut spec.fall_s)?;
    set("return_psi", 0.0, 400.0, PA_PER_PSI, &mut spec.return_pa)?;
    set("dither_percent", 0.0, 100.0, 0.01, &mut spec.dither)?;
    set("supply_v", 9.0, 16.0, 1.0, &mut spec.supply_v)?;
    spec.oil = table.word("oil", OILS)?.unwrap_or(spec.oil);
    spec.oil_c = celsius(table.number("oil_f", -20.0..=220.0)?).unwrap_or(spec.oil_c);
    spec.coil_c = celsius(table.number("valve_coil_f", -20.0..=250.0)?).unwrap_or(spec.coil_c);
    table.finish()?;
    Ok(spec)
}

/// From degrees Fahrenheit.
fn celsius(fahrenheit: Option<f64>) -> Option<f64> {
    fahrenheit.map(|fahrenheit| (fahrenheit - 32.0) / 1.8)
}

fn tractor(table: Option<Table<'_>>) -> Result<TractorSpec, ScenarioError> {
    let (mut rpm, mut gear, mut wander, mut acceleration) = (None, None, None, None);
    let (mut hill, mut hill_ft, mut mud, mut slip) = (None, None, None, None);
    if let Some(mut table) = table {
        rpm = table.number("engine_rpm", 800.0..=2_600.0)?;
        gear = table.number("gear_mph", 0.0..=10.0)?.filter(|mph| *mph > 0.0);
        wander = table.number("speed_wander_percent", 0.0..=30.0)?;
        acceleration = table.number("acceleration_mph_per_s", 0.1..=5.0)?;
        hill = table.number("hill_percent", 0.0..=20.0)?;
        hill_ft = table.number("hill_ft", 50.0..=3_000.0)?;
        mud = table.number("mud_percent", 0.0..=100.0)?;
        slip = table.number("mud_slip_percent", 0.0..=50.0)?;
        table.finish()?;
    }
    let engine_turns_s = rpm.unwrap_or(1_900.0) / 60.0;
    Ok(TractorSpec {
        engine_turns_s,
        gear_m: gear.map(|mph| mph * M_S_PER_MPH / engine_turns_s),
        wander: wander.unwrap_or(4.0) / 100.0,
        acceleration_m_s2: acceleration.unwrap_or(1.0) * M_S_PER_MPH,
        terrain: TerrainSpec {
            slope: hill.unwrap_or(0.0) / 100.0,
            hill_m: hill_ft.unwrap_or(300.0) * M_PER_FT,
            mud_share: mud.unwrap_or(0.0) / 100.0,
            mud_slip: slip.unwrap_or(15.0) / 100.0,
        },
        ..TractorSpec::default()
    })
}

fn sensors(table: Option<Table<'_>>) -> Result<Sensors, ScenarioError> {
    let mut sensors = Sensors {
        weigh: true,
        pressure: true,
        gauge: true,
        ground_pulses: false,
        bus_speed: Some(BusSpeed::Ground),
        nmea_hz: Some(5.0),
        nmea_lag_s: 0.3,
        nmea_dropouts: 0.0,
    };
    let Some(mut table) = table else { return Ok(sensors) };
    sensors.weigh = table.flag("weigh")?.unwrap_or(sensors.weigh);
    sensors.pressure = table.flag("pressure")?.unwrap_or(sensors.pressure);
    sensors.gauge = table.flag("gauge")?.unwrap_or(sensors.gauge);
    sensors.ground_pulses = table.flag("ground_pulses")?.unwrap_or(sensors.ground_pulses);
    sensors.bus_speed = table.word("bus_speed", BUS_SPEEDS)?.unwrap_or(sensors.bus_speed);
    if let Some(hz) = table.number("nmea_hz", 0.0..=10.0)? {
        sensors.nmea_hz = (hz > 0.0).then_some(hz);
    }
    let lag_s = table.number("nmea_lag_s", 0.1..=2.0)?;
    sensors.nmea_lag_s = lag_s.unwrap_or(sensors.nmea_lag_s);
    let dropouts = table.number("nmea_dropout_percent", 0.0..=100.0)?;
    sensors.nmea_dropouts = dropouts.map_or(sensors.nmea_dropouts, |percent| percent / 100.0);
    table.finish()?;
    Ok(sensors)
}

fn drive(top: &mut Table<'_>) -> Result<Vec<Leg>, ScenarioError> {
    let mut legs = Vec::new();
    let mut total_s = 0.0;
    for mut table in top.tables("drive", Scenario::LEGS)? {
        let speed_mph = table.number("speed_mph", 0.0..=10.0)?.unwrap_or(USUAL_MPH);
        let duration_s = table.number("for_s", 0.1..=LONGEST_DRIVE_S)?.unwrap_or(60.0);
        let feed = table.flag("feed")?.unwrap_or(speed_mph > 0.0);
        table.finish()?;
        total_s += duration_s;
        if total_s > LONGEST_DRIVE_S {
            let given = format!("{duration_s}, in all {total_s}");
            let allowed = format!("up to {LONGEST_DRIVE_S} in all");
            return Err(table.not_allowed("for_s", given, allowed));
        }
        legs.push(Leg { speed_m_s: speed_mph * M_S_PER_MPH, duration_s, feed });
    }
    Ok(legs)
}
