//! The report for people.

use super::report::CentringReport;
use crate::text_table::{Column, Table};
use std::fmt::{self, Display, Formatter};

impl Display for CentringReport {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "Pilots who centre {} thermals by ear: mean climb of three minutes in m/s, and as a \
             share of that\nwith a perfect tone, as used to the former default (unchanged) or to \
             these settings (own)",
            self.thermals
        )?;
        let columns = [
            Column::left("air").wide(10),
            Column::left("pilot"),
            Column::right("perfect").gap(4),
            Column::right("these"),
            Column::right("unchanged"),
            Column::right("own"),
            Column::right("allows s"),
        ];
        let mut table = Table::new(columns);
        for air in &self.airs {
            for pilot in &air.pilots {
                table.row([
                    air.air.to_owned(),
                    pilot.pilot.to_owned(),
                    format!("{:.3}", pilot.perfect_mps),
                    format!("{:.3}", pilot.unchanged_mps),
                    format!("{:.3}", pilot.unchanged_share),
                    format!("{:.3}", pilot.own_share),
                    pilot.own_allowance_s.map_or("-".into(), |allowance| format!("{allowance:.1}")),
                ]);
            }
            let empty = String::new;
            table.row([
                air.air.to_owned(),
                "mean of all".into(),
                empty(),
                empty(),
                format!("{:.3}", air.unchanged_share),
                format!("{:.3}", air.own_share),
                empty(),
            ]);
        }
        write!(f, "{table}")
    }
}
