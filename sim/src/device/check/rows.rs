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
    /// Whether it has every value that `rest` has.
    pub fn is_whole(&self, rest: &Row) -> bool {
        (rest.dynamic_pa.is_none() || self.dynamic_pa.is_some())
            && (rest.te_pa.is_none() || self.te_pa.is_some())
    }

    /// The first line whose pressure is not within `near_pa` of that in `rest`, and by how much, or
    /// that had a value there and has none.
    pub fn away_from(&self, rest: &Row, near_pa: f64) -> Option<String> {
        // The dynamic pressure is that of the pitot less static.
        let pitot = |row: &Row| Some(row.dynamic_pa? + row.static_pa);
        let lines = [
            ("pitot", pitot(rest), pitot(self)),
            ("static", Some(rest.static_pa), Some(self.static_pa)),
            ("probe", rest.te_pa, self.te_pa),
        ];
        lines.into_iter().find_map(|(name, then, now)| match (then, now) {
            (None, _) => None,
            (Some(_), None) => Some(format!("the sensor of the {name} line has no value")),
            (Some(then), Some(now)) => ((now - then).abs() > near_pa)
                .then(|| format!("the {name} line is {:+.0} Pa from rest", now - then)),
        })
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
    fn a_row_is_at_rest_only_if_every_line_is_and_the_line_is_named() {
        let rest =
            Row { static_pa: 97_500.0, dynamic_pa: Some(3.0), te_pa: None, ..Row::default() };
        let away = |row: Row| row.away_from(&rest, 100.0);
        let near = Row { static_pa: 97_420.0, dynamic_pa: Some(90.0), ..rest };
        assert_eq!(away(near), None);
        let sucked = Row { static_pa: 94_500.0, dynamic_pa: Some(3_003.0), ..rest };
        assert_eq!(away(sucked), Some("the static line is -3000 Pa from rest".into()));
        let pressed = Row { dynamic_pa: Some(-113.0), ..rest };
        assert_eq!(away(pressed), Some("the pitot line is -116 Pa from rest".into()));
        let lost = Row { dynamic_pa: None, ..rest };
        assert!(!lost.is_whole(&rest) && near.is_whole(&rest));
        assert_eq!(away(lost), Some("the sensor of the pitot line has no value".into()));
        let probe = Row { te_pa: Some(97_500.0), ..rest };
        let away = Row { te_pa: Some(97_390.0), ..probe }.away_from(&probe, 100.0);
        assert_eq!(away, Some("the probe line is -110 Pa from rest".into()));
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
