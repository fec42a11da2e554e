//! The rows of the instrument's log, as far as a check needs them.

/// Pressures of one sample.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Row {
    /// Time since the instrument's start, s.
    pub time_s: f64,
    /// Static pressure, Pa.
    pub static_pa: f64,
    /// Pitot less static, less its zero, Pa.
    pub dynamic_pa: Option<f64>,
    /// Pressure in a probe's line, Pa.
    pub te_pa: Option<f64>,
}

impl Row {
    /// Whether every pressure is within `near_pa` of that in `other`.
    pub fn is_at(&self, other: &Row, near_pa: f64) -> bool {
        let is_near = |pair: Option<(f64, f64)>| pair.is_none_or(|(a, b)| (a - b).abs() <= near_pa);
        is_near(Some((self.static_pa, other.static_pa)))
            && is_near(self.dynamic_pa.zip(other.dynamic_pa))
            && is_near(self.te_pa.zip(other.te_pa))
    }
}

/// The columns that every log begins with, see `firmware/src/log.rs`.
const HEADER: &str = "time_us,static_pa,dynamic_pa,te_pa,";

/// A reader of lines that waits for the header: what comes before may be half a row.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rows {
    is_in_step: bool,
}

impl Rows {
    /// The row in a line, if it is one.
    pub fn take(&mut self, line: &str) -> Option<Row> {
        if line.starts_with(HEADER) {
            self.is_in_step = true;
            return None;
        }
        if !self.is_in_step || line.starts_with('#') {
            return None;
        }
        let mut fields = line.split(',');
        let mut next = || fields.next().filter(|field| !field.is_empty())?.parse::<f64>().ok();
        let (time_us, static_pa, dynamic_pa, te_pa) = (next()?, next()?, next(), next());
        Some(Row { time_s: time_us * 1e-6, static_pa, dynamic_pa, te_pa })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_at_rest_only_if_every_pressure_is() {
        let rest =
            Row { static_pa: 97_500.0, dynamic_pa: Some(3.0), te_pa: None, ..Row::default() };
        assert!(Row { static_pa: 97_420.0, dynamic_pa: Some(90.0), ..rest }.is_at(&rest, 100.0));
        assert!(!Row { static_pa: 97_390.0, ..rest }.is_at(&rest, 100.0));
        assert!(!Row { dynamic_pa: Some(-110.0), ..rest }.is_at(&rest, 100.0));
        let probe = Row { te_pa: Some(97_500.0), ..rest };
        assert!(!Row { te_pa: Some(97_390.0), ..probe }.is_at(&probe, 100.0));
    }

    #[test]
    fn rows_count_from_the_header_on_and_empty_fields_are_none() {
        let mut rows = Rows::default();
        assert_eq!(rows.take("5.5,,,0,0"), None);
        assert_eq!(
            rows.take("time_us,static_pa,dynamic_pa,te_pa,vertical_speed_mmps,dropped"),
            None
        );
        let row = rows.take("1500000,95000.5,,94990,12,0").expect("it is a row");
        assert_eq!((row.time_s, row.static_pa), (1.5, 95_000.5));
        assert_eq!((row.dynamic_pa, row.te_pa), (None, Some(94_990.0)));
        assert_eq!(rows.take("#! 1.5 static: no answer"), None);
    }
}
