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
